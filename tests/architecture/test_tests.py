"""Tests stand where what they test does: `tests` has the rooms of the package and no others."""

from __future__ import annotations

from pathlib import Path

from tests.architecture.test_rooms import PACKAGE

TESTS = Path(__file__).parents[1]

# What is no room of the package and is tested all the same: the house itself, and the benchmarks.
BESIDE = frozenset({"architecture", "benchmarks"})

# A reader can take in about a dozen files, as in the package; what a room's tests share, and a file
# or two that test the room as a whole, come on top.
MOST_TEST_FILES = 14


def rooms_of_nothing(tests: Path, package: Path) -> list[str]:
    """Folders of tests for which the package has none."""
    return sorted(
        str(folder)
        for folder in {path.parent.relative_to(tests) for path in tests.rglob("*.py")}
        if not (package / folder).is_dir() and str(folder) not in BESIDE
    )


def crowded(tests: Path) -> list[str]:
    """Folders with more files of tests than a reader takes in."""
    folders = {path.parent for path in tests.rglob("test_*.py")}
    return sorted(
        str(folder.relative_to(tests))
        for folder in folders
        if len(list(folder.glob("test_*.py"))) > MOST_TEST_FILES
    )


def planted(root: Path, *names: str) -> Path:
    """A folder with empty files of these names."""
    for name in names:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).touch()
    return root


def test_tests_have_the_rooms_of_the_package() -> None:
    assert rooms_of_nothing(TESTS, PACKAGE) == []


def test_no_folder_of_tests_is_crowded() -> None:
    assert crowded(TESTS) == []


def test_the_rooms_have_something_to_hold() -> None:
    folders = {str(path.parent.relative_to(TESTS)) for path in TESTS.rglob("test_*.py")}
    assert {"optimal/problem", "optimal/structure", "flight/phases", "collocation/nlp"} <= folders


def test_a_room_of_nothing_is_found(tmp_path: Path) -> None:
    package = planted(tmp_path / "package", "__init__.py", "flight/phases/builder.py")
    tests = planted(
        tmp_path / "tests",
        "conftest.py",
        "architecture/test_rooms.py",
        "flight/test_symmetry.py",
        "flight/phases/test_builder.py",
    )
    assert rooms_of_nothing(tests, package) == []
    planted(tests, "flight/attic/test_box.py", "flight/benchmarks/test_box.py", "attic/boxes.py")
    assert rooms_of_nothing(tests, package) == ["attic", "flight/attic", "flight/benchmarks"]


def test_a_crowded_folder_of_tests_is_found(tmp_path: Path) -> None:
    names = [f"flight/test_{k}.py" for k in range(MOST_TEST_FILES)]
    tests = planted(tmp_path, *names, "flight/rockets.py", "flight/phases/test_builder.py")
    assert crowded(tests) == []
    planted(tests, "flight/test_one_more.py")
    assert crowded(tests) == ["flight"]

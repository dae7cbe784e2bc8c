"""Tests stand where what they test does: `tests` has the rooms of the package and no others."""

from __future__ import annotations

from pathlib import Path

from tests.architecture.test_rooms import PACKAGE

TESTS = Path(__file__).parents[1]

# What is no room of the package and is tested all the same: the house itself, benchmarks, pages.
BESIDE = frozenset({"architecture", "benchmarks", "examples"})

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


def drawn_at_random(tests: Path) -> list[str]:
    """Files that hold a case of the survey by the number it is drawn from, the survey's own apart.

    Such a test says nothing of its vehicle, and is another test when the draw changes.
    """
    return sorted(
        str(path.relative_to(tests))
        for path in tests.rglob("*.py")
        if path.relative_to(tests).parts[0] not in BESIDE
        and "benchmarks.survey" in path.read_text(encoding="utf-8")
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


def test_vehicles_are_written_out() -> None:
    assert drawn_at_random(TESTS) == []


def test_a_vehicle_that_is_drawn_at_random_is_found(tmp_path: Path) -> None:
    tests = planted(
        tmp_path, "optimal/test_drawn.py", "optimal/test_said.py", "benchmarks/test_a.py"
    )
    for name in ("optimal/test_drawn.py", "benchmarks/test_a.py"):
        (tests / name).write_text("from benchmarks.survey.generator import case")
    assert drawn_at_random(tests) == ["optimal/test_drawn.py"]


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

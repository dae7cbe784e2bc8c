"""The import contract within rooms: data flow one way between the folders of a room."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.architecture.inner_rooms import (
    HEIGHTS,
    ROWS,
    broken_inside,
    inner_cycles,
    inner_imports,
    module_cycles,
)
from tests.architecture.test_rooms import PACKAGE, planted

# A reader can take in a folder of about a dozen files.
MOST_FILES = 12


def test_no_inner_room_imports_a_higher_one() -> None:
    assert broken_inside(PACKAGE) == []


@pytest.mark.parametrize("room", ROWS)
def test_no_two_inner_rooms_import_each_other(room: str) -> None:
    assert inner_cycles(PACKAGE, room) == []


def test_no_two_files_import_each_other() -> None:
    assert module_cycles(PACKAGE) == []


def crowded(package: Path) -> list[str]:
    """Folders with more files than a reader takes in, `__init__` apart."""
    folders = {path.parent for path in package.rglob("*.py")}
    return sorted(
        folder.name for folder in folders if len(list(folder.glob("*.py"))) > MOST_FILES + 1
    )


def test_no_folder_is_crowded() -> None:
    assert crowded(PACKAGE) == []


def test_a_crowded_folder_is_found(tmp_path: Path) -> None:
    files = ["__init__", *(f"file_{k}" for k in range(MOST_FILES))]
    package = planted(tmp_path, {f"world/{name}.py": "" for name in files})
    assert crowded(package) == []
    (package / "world" / "one_more.py").touch()
    assert crowded(package) == ["world"]


def test_the_contract_has_something_to_read() -> None:
    for room, height in HEIGHTS.items():
        assert (PACKAGE / room).is_dir()
        named = {each.imported for each in inner_imports(PACKAGE, room)}
        assert named <= set(height)
    assert {"problem", "solve"} <= {each.imported for each in inner_imports(PACKAGE, "optimal")}


@pytest.mark.parametrize(
    ("name", "text", "complaint"),
    [
        (
            "optimal/problem/target/terminal.py",
            "from ascentopt.optimal.guess.remap import fitted",
            "problem imports guess",
        ),
        (
            "optimal/attempt.py",
            "def f():\n    from ascentopt.optimal import solve",
            "attempt imports solve",
        ),
        ("flight/phases/build.py", "import ascentopt.flight.orbit.way", "phases imports orbit"),
        ("flight/dynamics/forces.py", "from ...flight.guidance import law", "imports guidance"),
        ("flight/dynamics/numeric_rates.py", "from ..guidance.law import Law", "imports guidance"),
        ("collocation/nlp/rows.py", "from ascentopt.collocation import solve", "imports the face"),
        ("optimal/attic/box.py", "", "attic is no room of optimal"),
        ("optimal/attic.py", "", "attic is no room of optimal"),
        ("rocket/engines/solid.py", "", "rocket holds rooms"),
    ],
)
def test_a_planted_violation_is_found(tmp_path: Path, name: str, text: str, complaint: str) -> None:
    broken = broken_inside(planted(tmp_path, {name: text}))
    assert len(broken) == 1
    assert complaint in broken[0]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        (
            "optimal/solve/structure_solver.py",
            "from ascentopt.optimal.problem.target.terminal import on_orbit",
        ),
        ("optimal/solve/structure_solver.py", "from ascentopt.optimal.solve.deep import Step"),
        ("optimal/solve/structure_solver.py", "from ascentopt.flight.orbit.way import home"),
        ("flight/compiled/step.py", "from ascentopt.flight.simulation import samples"),
        ("collocation/__init__.py", "from ascentopt.collocation.refinement.mesh import refine"),
    ],
)
def test_an_allowed_import_passes(tmp_path: Path, name: str, text: str) -> None:
    assert broken_inside(planted(tmp_path, {name: text})) == []


def test_a_planted_circle_of_inner_rooms_is_found(tmp_path: Path) -> None:
    package = planted(
        tmp_path,
        {
            "flight/simulation/fly.py": "from ascentopt.flight.compiled.step import Step",
            "flight/compiled/step.py": "from ascentopt.flight.simulation.fly import fly",
        },
    )
    assert broken_inside(package) == []
    assert inner_cycles(package, "flight") == ["compiled and simulation import each other"]


def test_a_planted_circle_of_files_is_found(tmp_path: Path) -> None:
    package = planted(
        tmp_path,
        {
            "world/body.py": "from ascentopt.world.air import Air",
            "world/air.py": "from ascentopt.world import wind",
            "world/wind.py": "def f():\n    from ascentopt.world.body import Body",
        },
    )
    assert module_cycles(package) == [
        "world/air and world/body import each other",
        "world/air and world/wind import each other",
        "world/body and world/wind import each other",
    ]

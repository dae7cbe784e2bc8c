"""The import contract: arrows between rooms point one way."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.architecture.rooms import (
    FACE,
    HEIGHT,
    broken_rules,
    imports_of_package,
    room_cycles,
    room_of,
)

PACKAGE = Path(__file__).parents[2] / "ascentopt"


def planted(tmp_path: Path, sources: dict[str, str]) -> Path:
    """A package of the given files, by path below it."""
    package = tmp_path / "ascentopt"
    for name, text in {"__init__.py": "", **sources}.items():
        path = package / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return package


def test_no_room_imports_a_higher_one() -> None:
    assert broken_rules(PACKAGE) == []


def test_no_two_rooms_import_each_other() -> None:
    assert room_cycles(PACKAGE) == []


def test_the_contract_has_something_to_read() -> None:
    rooms = {room_of(path, PACKAGE) for path in PACKAGE.rglob("*.py")}
    assert {FACE, "world", "rocket", "collocation"} <= rooms
    assert any(found.imported == "errors" for found in imports_of_package(PACKAGE))


@pytest.mark.parametrize(
    ("name", "text", "complaint"),
    [
        ("world/body.py", "from ascentopt.flight import simulate", "world imports flight"),
        ("world/body.py", "import ascentopt.flight.arcs", "world imports flight"),
        ("world/body.py", "from ascentopt import flight", "world imports flight"),
        ("world/body.py", "from ..flight.arcs import Arc", "world imports flight"),
        ("world/body.py", "from .. import flight", "world imports flight"),
        ("world/deep/body.py", "from ...flight import Arc", "world imports flight"),
        ("errors.py", "from .world import Body", "errors imports world"),
        ("flight/arcs.py", "def f():\n    import ascentopt.steering", "flight imports steering"),
        (
            "rocket/stage.py",
            "import typing\nif typing.TYPE_CHECKING:\n    from ascentopt.optimal import Ascent",
            "rocket imports optimal",
        ),
        (
            "flight/arcs.py",
            "import importlib\nimportlib.import_module('ascentopt.studies')",
            "flight imports studies",
        ),
        ("studies/sweep.py", "import ascentopt as ao", f"studies imports {FACE}"),
        ("studies/sweep.py", "from ascentopt import optimize", f"studies imports {FACE}"),
        ("studies/sweep.py", "from ascentopt.report import plot", "studies imports report"),
        ("collocation/mesh.py", "from ascentopt.world import Body", "collocation imports world"),
        ("collocation/mesh.py", "from ascentopt.units import km", "collocation imports units"),
        ("flight/arcs.py", "from ascentopt.collocation import Span", "flight imports collocation"),
        ("numerics/newton.py", "from ascentopt.units import km", "numerics imports units"),
        ("cellar/wine.py", "", "is no room of the house"),
        ("cellar.py", "", "is no room of the house"),
    ],
)
def test_a_planted_violation_is_found(tmp_path: Path, name: str, text: str, complaint: str) -> None:
    broken = broken_rules(planted(tmp_path, {name: text}))
    assert len(broken) == 1
    assert complaint in broken[0]


def test_a_violation_names_file_and_line(tmp_path: Path) -> None:
    package = planted(tmp_path, {"world/body.py": "import math\n\nfrom ascentopt import steering"})
    assert broken_rules(package)[0].startswith(f"{package / 'world' / 'body.py'}:3: ")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("__init__.py", "from ascentopt.report import plot\nfrom ascentopt.units import km"),
        ("report/plot.py", "from ascentopt.studies import compare"),
        ("mission/mission.py", "from ascentopt.world import Body"),
        ("optimal/guess.py", "from ..steering import GravityTurn\nfrom . import nlp"),
        ("collocation/mesh.py", "import numpy\nfrom ascentopt.errors import InputError"),
        ("world/body.py", "import flight\nfrom steering import law"),  # not ours
    ],
)
def test_an_allowed_import_passes(tmp_path: Path, name: str, text: str) -> None:
    assert broken_rules(planted(tmp_path, {name: text})) == []


def test_a_planted_cycle_of_neighbours_is_found(tmp_path: Path) -> None:
    package = planted(
        tmp_path,
        {
            "world/body.py": "from ascentopt.rocket import Stage",
            "rocket/stage.py": "from ascentopt.mission import Mission",
            "mission/mission.py": "from ascentopt.world import Body",
        },
    )
    assert broken_rules(package) == []
    assert "rocket and world import each other" in room_cycles(package)


def test_every_room_has_one_place() -> None:
    assert HEIGHT["errors"] < HEIGHT["world"] < HEIGHT["flight"] < HEIGHT["steering"]
    assert HEIGHT["flight"] < HEIGHT["collocation"] < HEIGHT["optimal"] < HEIGHT["studies"]
    assert HEIGHT["studies"] < HEIGHT["report"] < HEIGHT[FACE]

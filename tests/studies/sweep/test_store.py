"""What a sweep keeps in its folder, and how it goes on there."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import ascentopt as ao
from tests.optimal.launchers import lander, moon_mission
from tests.studies.sweep.sweeping import SMALL, largest_difference, small, swept


class Stopped(Exception):
    pass


def stop_after(count: int) -> Callable[[ao.Step[ao.Sweep]], None]:
    def look(step: ao.Step[ao.Sweep]) -> None:
        if step.done >= count:
            raise Stopped

    return look


def begun(folder: Path, count: int = 3) -> Path:
    with pytest.raises(ao.InputError, match="raised Stopped"):
        swept(SMALL, store=folder, progress=stop_after(count))
    return folder


def test_it_goes_on_where_it_stopped(tmp_path: Path) -> None:
    doing: list[str] = []
    folder = begun(tmp_path / "deep" / "store")
    found = swept(SMALL, store=folder, progress=lambda step: doing.append(step.doing))
    assert sum("(from the store)" in one for one in doing) == 3
    assert largest_difference(found, small()) == 0.0
    again = swept(SMALL, store=folder, progress=lambda step: doing.append(step.doing))
    assert again == found
    assert sum("(from the store)" in one for one in doing) == 3 + 6


def test_ascents_are_in_the_folder_and_it_may_be_moved(tmp_path: Path) -> None:
    found = swept(SMALL, store=tmp_path / "store")
    assert found.ascents == ()
    assert found.ascent(0).verify()
    moved = (tmp_path / "store").rename(tmp_path / "elsewhere")
    with pytest.raises(ao.InputError, match="cannot be read"):
        found.ascent(0)
    assert found.in_folder(moved).ascent(0).vehicle.payload_mass == pytest.approx(900.0)


@pytest.mark.parametrize("what", ["answer", "ascent"])
def test_what_is_damaged_or_half_there_is_solved_again(what: str, tmp_path: Path) -> None:
    swept(SMALL, store=tmp_path)
    (tmp_path / f"000001-0.{what}.json").write_text("{")
    if what == "ascent":  # as after a stop between the two
        (tmp_path / "000001-0.answer.json").unlink()
    assert largest_difference(swept(SMALL, store=tmp_path), small()) == 0.0
    assert ao.SweepAnswer.load(tmp_path / "000001-0.answer.json").flies


@pytest.mark.parametrize(
    ("vehicle", "mission", "more", "says"),
    [
        (replace(lander(), name="Dunlin"), moon_mission(), {}, "vehicle.name is 'Sanderling'"),
        (lander(), replace(moon_mission(), vertical_rise=90.0), {},
         r"mission.vertical_rise is 100.0 there and 90.0 here"),
        (lander(), moon_mission(), {"over": {"payload_mass": [900.0]}}, r"names is "),
        (lander(), moon_mission(), {"over": {**SMALL, "payload_mass": [900.0, 1001.0, 6000.0]}},
         r"values\[2\]\[0\] is 1000.0 there and 1001.0 here"),
        (lander(), moon_mission(), {"effort": ao.Effort(exhaustive=True)}, "effort.exhaustive is"),
    ],
)  # fmt: skip
def test_another_sweep_is_told_by_its_first_difference(
    vehicle: ao.Vehicle, mission: ao.Mission, more: dict[str, Any], says: str, tmp_path: Path
) -> None:
    begun(tmp_path, 1)
    given = {"over": SMALL, **more}
    with pytest.raises(ao.InputError, match="holds another sweep: ") as told:
        ao.sweep(vehicle, mission, given.pop("over"), **given, store=tmp_path)
    assert re.search(says, str(told.value))


def test_a_function_that_makes_others_of_the_same_values_is_found_out(tmp_path: Path) -> None:
    def by(share: float) -> dict[str, Any]:
        def change(vehicle: ao.Vehicle, mission: ao.Mission, x: float) -> Any:
            return replace(vehicle, payload_mass=share * x), mission

        return {"mass": ao.Varied(values=[900.0], change=change)}

    swept(by(1.0), store=tmp_path)
    with pytest.raises(ao.InputError, match=r"digests\[0\]"):
        swept(by(1.1), store=tmp_path)


def test_a_folder_of_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.json").write_text("{}")
    with pytest.raises(ao.InputError, match=r"holds 'mine\.json' but no sweep\.json"):
        swept(SMALL, store=tmp_path)
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(ao.InputError, match="cannot be made"):
        swept(SMALL, store=file)

"""The example descriptions are read, say what they seem to say, and can fly."""

from __future__ import annotations

from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.optimal.bounds.impulsive import check_bound
from ascentopt.optimal.bounds.lift_off import check_lift_off
from tests.descriptions.spoiled import EXAMPLES

FILES = sorted(EXAMPLES.glob("*.toml"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_may_fly_and_is_written_again(path: Path, tmp_path: Path) -> None:
    one = ao.read(path)
    check_lift_off(one.vehicle, one.mission)
    check_bound(one.vehicle, one.mission)
    ao.write(tmp_path / "again.toml", one)
    assert ao.read(tmp_path / "again.toml") == one


def test_the_first_is_the_built_in_launcher() -> None:
    built_in = ao.scenarios()["earth-weak-upper"]
    found = ao.read(EXAMPLES / "turnstone.toml")
    assert found.vehicle == built_in.vehicle
    assert found.mission.orbit == built_in.mission.orbit
    assert found.mission.limits == built_in.mission.limits


def test_a_wind_over_the_earth() -> None:
    one = ao.read(EXAMPLES / "oystercatcher_in_wind.toml")
    body, earth = one.mission.body, ao.earth()
    assert body.atmosphere is not None
    assert earth.atmosphere is not None
    assert body.atmosphere.wind is not None
    assert body.atmosphere.wind.altitude == (0.0, 5e3, 11e3, 16e3, 25e3)
    assert body.atmosphere.log_density == earth.atmosphere.log_density
    assert body.j2 == earth.j2
    assert isinstance(one.vehicle.boosters[0].engine, ao.SolidMotor)
    assert isinstance(one.mission.reserve, ao.DeorbitReserve)

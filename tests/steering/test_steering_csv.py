"""A steering CSV is all that another simulator needs beside the vehicle."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.result.closed_loop import NEGLIGIBLE_MISS
from ascentopt.units import STANDARD_GRAVITY, deg, km
from tests.optimal.launchers import (
    earth_mission,
    four_phase_launcher,
    four_phase_mission,
    lander,
    launcher_with_a_fairing,
    small_launcher,
)
from tests.optimal.test_all_solid import MISSION as SOLID_MISSION
from tests.optimal.test_all_solid import launcher as all_solid
from tests.report.flights import launcher, mission
from tests.steering.csv_flight import SteeringFile, flown

POLE = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(latitude=-np.pi / 2),
    orbit=ao.CircularOrbit(altitude=400 * km),
)
TO_A_NODE = ao.Mission(
    body=ao.moon(),
    site=ao.LaunchSite(latitude=10 * deg, longitude=77 * deg),
    orbit=ao.CircularOrbit(altitude=100 * km, inclination=30 * deg, ascending_node=130 * deg),
)
GENTLE = earth_mission(dynamic_pressure=40e3, axial_acceleration=3.5 * STANDARD_GRAVITY)


def throttling() -> ao.Vehicle:
    """Both stages of it."""
    vehicle = launcher_with_a_fairing()
    first, second = vehicle.stages
    assert isinstance(first.engine, ao.Engine)
    engine = replace(first.engine, min_throttle=0.5)
    return replace(vehicle, stages=(replace(first, engine=engine), second))


@cache
def optimum(name: str) -> ao.Ascent:
    """By a name of a scenario, or of what the file must tell beside the usual."""
    cases = {
        "fairing and limits": (launcher(), mission()),
        "throttle": (throttling(), GENTLE),
        "another axis": (small_launcher(), POLE),
        "boosters": (four_phase_launcher(), four_phase_mission()),
        "waits for its node": (lander(), TO_A_NODE),
        "ballast": (all_solid(300.0), SOLID_MISSION),
    }
    if name in cases:
        return ao.optimize(*cases[name])
    found = ao.scenarios()[name]
    return ao.optimize(found.vehicle, found.mission)


def written(ascent: ao.Ascent, folder: Path) -> SteeringFile:
    ascent.steering.to_csv(folder / "steering.csv")
    return SteeringFile(folder / "steering.csv")


@pytest.mark.parametrize(
    "name",
    [
        "moon-brisk",
        "marble-thick-air",
        "boosters",
        "waits for its node",
        *(
            pytest.param(one, marks=pytest.mark.slow)
            for one in (
                "fairing and limits", "throttle", "another axis", "ballast",
                "earth-solid-first",
            )
        ),
    ],
)  # fmt: skip
def test_the_file_alone_flies_into_the_orbit(name: str, tmp_path: Path) -> None:
    """As close to the certified flight as the certificate's flight is to its plan.

    Measured: 0.003 to 0.8 m and 4e-6 to 8e-4 m/s, the most after a coast of 52 minutes.
    """
    ascent = optimum(name)
    end = flown(written(ascent, tmp_path), ascent.vehicle, ascent.mission.body)
    miss = end - ascent.trajectory.final_state
    position, velocity = NEGLIGIBLE_MISS
    assert np.linalg.norm(miss[:3]) < position
    assert np.linalg.norm(miss[3:6]) < velocity
    assert abs(miss[6]) < 1e-3


def test_an_ascent_told_otherwise_tells_its_table(tmp_path: Path) -> None:
    """What is put in the place of something else is told as well: here another instant."""
    ascent = optimum("moon-brisk")
    later = replace(ascent, mission=replace(ascent.mission, lift_off_time=3600.0))
    name = "lift-off, since longitude zero lay on the inertial x axis [s]"
    assert written(ascent, tmp_path).numbers[name] == 0.0
    assert written(later, tmp_path).numbers[name] == 3600.0


def test_a_wrong_mass_is_seen(tmp_path: Path) -> None:
    """The flight by the file tells: a kilogram more at lift-off ends elsewhere."""
    ascent = optimum("moon-brisk")
    file = written(ascent, tmp_path)
    file.numbers["lift-off mass [kg]"] += 1.0
    end = flown(file, ascent.vehicle, ascent.mission.body)
    miss = end - ascent.trajectory.final_state
    assert np.linalg.norm(miss[3:6]) > 100 * NEGLIGIBLE_MISS[1]


def test_burns_drops_and_cut_offs_are_rows(tmp_path: Path) -> None:
    ascent = optimum("marble-thick-air")
    file = written(ascent, tmp_path)
    names = [row["event"] for row in file.events]
    first, *_, last = (stage.name for stage in ascent.vehicle.stages)
    assert names[:2] == ["lift-off", f"{first} ignition"]
    assert names[-2:] == [f"{last} cut-off", "insertion"]
    for event in ascent.events:
        if event.name == "max dynamic pressure":
            continue
        row = next(
            row
            for row in file.events
            if row["event"] == event.name and float(row["time [s]"]) == event.time
        )
        assert float(row["mass_before [kg]"]) == event.mass_before
        assert float(row["mass_after [kg]"]) == event.mass_after
    assert [float(row["time [s]"]) for row in file.rows] == sorted(
        float(row["time [s]"]) for row in file.rows
    )


def test_the_comments_describe_vehicle_and_pad(tmp_path: Path) -> None:
    ascent = optimum("moon-brisk")
    given = written(ascent, tmp_path).numbers
    vehicle, stage = ascent.vehicle, ascent.vehicle.stages[0]
    assert given["lift-off mass [kg]"] == vehicle.lift_off_mass
    assert given[f"{stage.name}, propellant [kg]"] == stage.propellant_mass
    assert given[f"{stage.name}, vacuum Isp [s]"] == stage.engine.vacuum_isp
    assert given["site, geodetic latitude [rad]"] == ascent.mission.site.latitude
    assert given["ballast, fixed beside the payload [kg]"] == 0.0


def test_a_table_that_was_saved_tells_the_same(tmp_path: Path) -> None:
    ascent = optimum("moon-brisk")
    ascent.steering.save(tmp_path / "steering.json")
    again = ao.TabulatedSteering.load(tmp_path / "steering.json")
    assert again == ascent.steering
    assert again.to_table() == ascent.steering.to_table()


def test_tables_saved_before_they_told_it_are_read(tmp_path: Path) -> None:
    ascent = optimum("moon-brisk")
    ascent.steering.save(tmp_path / "steering.json")
    data = json.loads((tmp_path / "steering.json").read_text())
    del data["context"]
    data["version"] = 1
    data.pop("checksum", None)
    (tmp_path / "old.json").write_text(json.dumps(data))
    old = ao.TabulatedSteering.load(tmp_path / "old.json")
    assert old == replace(ascent.steering, context=None)


def test_an_ascent_saved_before_it_told_it_tells_it_all_the_same(tmp_path: Path) -> None:
    ascent = optimum("moon-brisk")
    ascent.save(tmp_path / "new.json")
    data = json.loads((tmp_path / "new.json").read_text())
    del data["steering"]["fields"]["context"]
    data["version"] = 3
    data.pop("checksum", None)
    was = json.dumps(data).replace("steering.table.segment:", "steering.tabulated:")
    (tmp_path / "old.json").write_text(was)
    assert ao.Ascent.load(tmp_path / "old.json").steering == ascent.steering


def test_pandas_reads_the_file(tmp_path: Path) -> None:
    pd = pytest.importorskip("pandas")
    ascent = optimum("moon-brisk")
    written(ascent, tmp_path)
    read = pd.read_csv(tmp_path / "steering.csv", comment="#")
    pd.testing.assert_frame_equal(read, ascent.steering.to_dataframe(), rtol=1e-15)

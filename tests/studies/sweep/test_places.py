"""What may be varied goes by the names that it has elsewhere."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.baselines.inputs import inputs_of
from ascentopt.optimal.perturbations import Case
from ascentopt.studies.sweep.points.grid import swept_points
from ascentopt.studies.sweep.points.places import place_named
from ascentopt.units import deg, km, kN
from tests.flight.rockets import boosted
from tests.studies.wren import MISSION, VEHICLE

CASE = Case(VEHICLE, MISSION)
BOOSTED = Case(boosted(), MISSION)


def forgets_the_mission(vehicle: ao.Vehicle, mission: ao.Mission, value: object) -> Any:
    return vehicle


@pytest.mark.parametrize(
    ("name", "full", "value", "unit"),
    [
        ("payload_mass", "vehicle.payload_mass", 700.0, "kg"),
        ("vehicle.payload_mass", "vehicle.payload_mass", 700.0, "kg"),
        ("orbit.altitude", "mission.orbit.altitude", 130 * km, "m"),
        ("orbit.inclination", "mission.orbit.inclination", 0.3, "rad"),
        ("site.latitude", "mission.site.latitude", 20 * deg, "rad"),
        ("limits.dynamic_pressure", "mission.limits.dynamic_pressure", 3e4, "Pa"),
        ("lower.dry_mass", "vehicle.stages[0].dry_mass", 2100.0, "kg"),
        ("stages.lower.dry_mass", "vehicle.stages[0].dry_mass", 2100.0, "kg"),
        ("stages[0].dry_mass", "vehicle.stages[0].dry_mass", 2100.0, "kg"),
        ("upper.restarts", "vehicle.stages[1].restarts", 1, "-"),
        ("upper.engine.vacuum_isp", "vehicle.stages[1].engine.vacuum_isp", 340.0, "s"),
        ("aerodynamics.drag_coefficient", "vehicle.aerodynamics.drag_coefficient", 0.3, "-"),
    ],
)
def test_a_name_is_the_place_that_baselines_tell_it_by(
    name: str, full: str, value: float, unit: str
) -> None:
    place = place_named("sweep", name, CASE)
    assert (place.name, place.unit) == (full, unit)
    changed = place.put(CASE, value)
    before, after = (inputs_of(c.vehicle, c.mission) for c in (CASE, changed))
    assert after[full] == pytest.approx(value)
    assert {key for key in after if after[key] != before.get(key)} == {full}


def test_thrust_is_all_thrusts_of_a_part_in_proportion() -> None:
    place = place_named("sweep", "lower.thrust", CASE)
    engine = place.put(CASE, 200 * kN).vehicle.stages[0].engine
    was = VEHICLE.stages[0].engine
    assert engine.mean_thrust == pytest.approx(200 * kN)
    assert engine.isp_at_sea_level == pytest.approx(was.isp_at_sea_level)


def test_boosters_go_by_their_names() -> None:
    group = BOOSTED.vehicle.boosters[0]
    place = place_named("sweep", f"{group.name}.thrust", BOOSTED)
    burned = place.put(BOOSTED, 1.1 * group.engine.mean_thrust).vehicle.boosters[0]
    assert burned.engine.mean_thrust == pytest.approx(1.1 * group.engine.mean_thrust)
    assert burned.burn_time == pytest.approx(group.burn_time / 1.1)


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("payload", "payload_mass"),
        ("orbit.altitud", "orbit.altitude"),
        ("lower.trust", "lower.thrust"),
    ],
)
def test_an_unknown_name_is_told_the_nearest_and_what_there_is(name: str, near: str) -> None:
    with pytest.raises(ao.InputError, match=f"Did you mean '{near}'") as told:
        ao.sweep(VEHICLE, MISSION, {name: [1.0]})
    assert "limits.dynamic_pressure" in str(told.value)
    assert len(str(told.value)) < 400


@pytest.mark.parametrize(
    ("over", "says"),
    [
        ({}, "over is"),
        ([], "over is"),
        ("payload_mass", "over is"),
        ({3: [1.0]}, "has the name 3"),
        ({"payload_mass": 800.0}, "payload_mass is 800.0; it must be a row of values"),
        ({"payload_mass": []}, "a row of values"),
        ({"payload_mass": ["800"]}, "payload_mass is '800'; it must be a finite number"),
        ({"payload_mass": [None]}, "payload_mass is None"),
        ({"upper.restarts": [1.5]}, "upper.restarts is 1.5; it must be a whole number"),
        ({"orbit": [300.0]}, "orbit is 300.0; it must be of type CircularOrbit"),
        ([{"payload_mass": 1.0}, {"orbit.altitude": 2.0}], r"over\[1\] is"),
        ({"payload_mass": [1.0], "vehicle.payload_mass": [2.0]}, "are both vehicle.payload_mass"),
        ({"payload_mass": [9.0, 8.0, 9.0]}, "points 0 and 2 are both payload_mass 9.0"),
        ({"orbit.altitude": [300.0, 400.0]}, "no point can be described. Mission: orbit"),
        ({"growth": ao.Varied(values=(1.0,), change=forgets_the_mission)}, "growth change answers"),
    ],
)
def test_what_cannot_be_varied_so_is_refused_at_once(over: object, says: str) -> None:
    with pytest.raises(ao.InputError, match=says):
        ao.sweep(VEHICLE, MISSION, over)  # type: ignore[arg-type]


def test_a_point_that_cannot_be_described_is_a_row_of_its_own() -> None:
    points = swept_points(CASE, {"orbit.altitude": [120 * km, 12 * km]})
    assert isinstance(points.cases[0], Case)
    assert isinstance(points.cases[1], ao.InputError)


def test_wholes_are_exchanged_before_numbers_of_theirs() -> None:
    ellipse = ao.EllipticalOrbit(periapsis_altitude=120 * km)
    points = swept_points(
        CASE, {"orbit.apoapsis_altitude": [150 * km, 200 * km], "orbit": [ellipse]}
    )
    orbits = [case.mission.orbit for case in points.cases if isinstance(case, Case)]
    assert orbits == [replace(ellipse, apoapsis_altitude=x * km) for x in (150.0, 200.0)]
    assert points.names[1].unit == ""


def test_a_number_that_its_whole_says_otherwise_is_refused() -> None:
    orbits = [ao.CircularOrbit(altitude=x * km) for x in (120.0, 150.0)]
    with pytest.raises(ao.InputError, match="orbit of the same point has 120000"):
        ao.sweep(VEHICLE, MISSION, {"orbit": orbits, "orbit.altitude": [130 * km]})


def test_a_function_of_ones_own_changes_what_it_likes() -> None:
    def grown(vehicle: ao.Vehicle, mission: ao.Mission, by: float) -> tuple[ao.Vehicle, ao.Mission]:
        stages = tuple(replace(s, dry_mass=by * s.dry_mass) for s in vehicle.stages)
        return replace(vehicle, stages=stages), mission

    points = swept_points(CASE, {"growth": ao.Varied(values=[1.0, 1.1], change=grown)})
    masses = [c.vehicle.stages[1].dry_mass for c in points.cases if isinstance(c, Case)]
    assert masses == pytest.approx([700.0, 770.0])
    assert points.names[0].unit == "-"


def test_arrays_and_their_numbers_are_taken() -> None:
    points = swept_points(CASE, {"payload_mass": np.linspace(700.0, 900.0, 3)})
    assert points.values == ((700.0,), (800.0,), (900.0,))
    assert all(type(value) is float for (value,) in points.values)

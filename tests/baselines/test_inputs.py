"""A vehicle and a mission laid flat, and the partials under the same names."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.baselines.case import BaselineCase
from ascentopt.baselines.input_partials import input_partials
from ascentopt.baselines.inputs import Input, inputs_of
from ascentopt.optimal.perturbations import Case, variations
from ascentopt.units import deg, km
from tests.baselines.ascents import brisk

SCENARIOS = ao.scenarios()


def laid_flat(name: str) -> dict[str, Input]:
    return inputs_of(SCENARIOS[name].vehicle, SCENARIOS[name].mission)


def test_numbers_stand_under_their_places() -> None:
    flat = laid_flat("earth-boosters")
    assert flat["vehicle.stages[1].propellant_mass"] == 22000.0
    assert flat["vehicle.boosters[0].count"] == 2
    assert flat["mission.orbit"] == "CircularOrbit"
    assert flat["mission.orbit.altitude"] == 250 * km
    assert flat["mission.site.latitude"] == pytest.approx(-12 * deg, rel=1e-11)
    assert "mission.limits.dynamic_pressure" not in flat


def test_what_is_not_so_is_left_out() -> None:
    """A description that gains a question, to which old ones say no, drifts from no record."""
    flat = laid_flat("mars-one-stage")
    assert not any(name.endswith("awaits_body") for name in flat)
    mission = SCENARIOS["mars-one-stage"].mission
    for says in (True, False):
        reserve = ao.DeorbitReserve(periapsis_altitude=20 * km, with_payload=says)
        flat = inputs_of(SCENARIOS["mars-one-stage"].vehicle, replace(mission, reserve=reserve))
        assert ("mission.reserve.with_payload" in flat) is says


def test_a_short_table_is_a_line_and_a_long_one_a_digest() -> None:
    flat = laid_flat("earth-solid-first")
    assert flat["vehicle.aerodynamics.drag_coefficient.mach"] == (
        0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0,
    )  # fmt: skip
    told = str(flat["mission.body.atmosphere.log_density"])
    assert told.startswith("32 points from -5000 to 1e+06, values from 0.658101 to -33.2688")
    assert told != flat["mission.body.atmosphere.log_pressure"]


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_change_of_a_description_shows(name: str) -> None:
    """Each number that has a partial moves inputs, and no two move the same ones."""
    case = Case(SCENARIOS[name].vehicle, SCENARIOS[name].mission)
    flat, seen = inputs_of(case.vehicle, case.mission), set()
    for variation in variations(case):
        changed = variation.changed(0.01)
        moved = inputs_of(changed.vehicle, changed.mission)
        names = frozenset(name for name, value in moved.items() if flat[name] != value)
        assert len(names) >= 1
        assert names not in seen
        seen.add(names)


def test_partials_are_for_si_units_of_the_inputs() -> None:
    found, own = input_partials(brisk()), brisk().partials
    assert found["vehicle.payload_mass"] == pytest.approx(own["payload"].propellant, rel=1e-5)
    altitude = own["orbit altitude"].propellant
    assert found["mission.orbit.altitude"] == pytest.approx(altitude / km, rel=1e-5)
    per_newton = own["ascent: thrust"].propellant / (0.01 * 40000.0)
    assert found["vehicle.stages[0].engine.vacuum_thrust"] == pytest.approx(per_newton, rel=1e-4)
    assert len(found) == len(own)


def test_a_thrust_given_at_sea_level_too_moves_with_the_other() -> None:
    scenario = SCENARIOS["mars-one-stage"]
    stage = scenario.vehicle.stages[0]
    assert isinstance(stage.engine, ao.Engine)
    low = 0.8 * stage.engine.vacuum_thrust
    engine = replace(stage.engine, exit_area=None, sea_level_thrust=low)
    vehicle = replace(scenario.vehicle, stages=(replace(stage, engine=engine),))
    found = input_partials(ao.optimize(vehicle, scenario.mission))
    place = "vehicle.stages[0].engine"
    assert f"{place}.vacuum_thrust with {place}.sea_level_thrust" in found
    assert f"{place}.vacuum_thrust" not in found


def motored(factor: float = 1.0) -> ao.Vehicle:
    """A rocket whose solid motor burns as much in less time."""
    vehicle = SCENARIOS["earth-solid-first"].vehicle
    first = vehicle.stages[0]
    motor = first.engine
    assert isinstance(motor, ao.SolidMotor)
    faster = replace(
        motor,
        time=tuple(time / factor for time in motor.time),
        vacuum_thrust=tuple(thrust * factor for thrust in motor.vacuum_thrust),
    )
    return replace(vehicle, stages=(replace(first, engine=faster), *vehicle.stages[1:]))


def test_a_solid_motor_that_burns_faster_differs_in_its_burn_time_alone() -> None:
    mission = SCENARIOS["earth-solid-first"].mission
    slow, fast = inputs_of(motored(), mission), inputs_of(motored(1.02), mission)
    recorded = {name for name, value in fast.items() if slow[name] != value}
    assert recorded == {"vehicle.stages[0].engine.burn_time"}


def test_an_instant_of_lift_off_that_was_free_is_no_input() -> None:
    scenario = SCENARIOS["moon-brisk"]
    orbit = replace(scenario.mission.orbit, inclination=23 * deg, ascending_node=50 * deg)
    waiting = replace(scenario.mission, orbit=orbit)
    ascent = ao.optimize(scenario.vehicle, waiting)
    free = BaselineCase.of(ascent)
    assert free.inputs["mission.lift_off_time"] == "when it costs least"
    fixed = BaselineCase.of(ao.optimize(scenario.vehicle, ascent.mission))
    instant = fixed.inputs["mission.lift_off_time"]
    assert instant == pytest.approx(ascent.mission.lift_off_time, rel=1e-11)


@pytest.mark.slow
def test_a_faster_motor_is_explained_by_the_partial_of_its_burn_time() -> None:
    mission = SCENARIOS["earth-solid-first"].mission
    baseline = ao.Baseline().record("solid", ao.optimize(motored(), mission))
    told = baseline.check("solid", ao.optimize(motored(1.01), mission))
    [change] = told.changes
    assert change.by_both == pytest.approx(told.difference, rel=0.05)
    assert abs(told.difference) > 0.3


def test_a_case_holds_what_the_ascent_says() -> None:
    one = BaselineCase.of(brisk())
    assert one.cost == pytest.approx(brisk().propellant_used, rel=1e-9)
    assert one.verdict == brisk().certificate.verdict.name.lower()
    assert one.structure == str(brisk().plan)

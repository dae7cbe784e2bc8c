"""Every refusal carries a number of m/s, the flight that comes nearest, and what would fly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.plan import direct
from ascentopt.optimal.explain.least_violation import least_violation_of
from ascentopt.optimal.in_turn import result_of
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.ways_within_limits import shortfall_within_limits
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.units import deg, km, kN, kPa
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.explain.launches import (
    a_solid_that_cannot_slow_down,
    boosters_in_turn,
    never_out_of_the_heat,
    short_of_a_high_ellipse,
)
from tests.optimal.solve.counted import CountedSolves

MOST = 2726.3
"""kg of payload that reach the orbit of the example, by `max_payload`."""


def refused(vehicle: ao.Vehicle, mission: ao.Mission) -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(vehicle, mission)
    return caught.value


@pytest.mark.slow
def test_a_payload_that_flies_is_named_where_the_first_one_tried_is_not_solved() -> None:
    refusal = refused(replace(TURNSTONE, payload_mass=2768.0), PELICAN_POINT)
    assert refusal.diagnosis.payload == pytest.approx(MOST, rel=1e-2)


@pytest.mark.slow
def test_the_payload_named_does_not_depend_on_how_much_was_too_much() -> None:
    """Of 3000 kg it was 2714 kg, 1 % below what flies: the first payload that did was named."""
    refusal = refused(replace(TURNSTONE, payload_mass=3000.0), PELICAN_POINT)
    assert refusal.diagnosis.payload == pytest.approx(MOST, rel=1e-2)
    assert refusal.diagnosis.payload < MOST


@pytest.mark.slow
def test_the_payload_named_flies_and_is_all_but_the_most_that_does() -> None:
    refusal = refused(replace(TURNSTONE, payload_mass=3000.0), PELICAN_POINT)
    named = refusal.diagnosis.payload
    ascent = ao.optimize(replace(TURNSTONE, payload_mass=named), PELICAN_POINT)
    assert not ascent.certificate.beyond()
    assert 0.0 <= MOST - named < 1e-2 * MOST


@pytest.mark.slow
@pytest.mark.parametrize("payload", [4500.0, 6500.0])
def test_what_is_missing_is_missing_within_the_limits(payload: float) -> None:
    """However far away the orbit is."""
    heavy = replace(TURNSTONE, payload_mass=payload)
    free = refused(heavy, replace(PELICAN_POINT, limits=ao.FlightLimits.none()))
    assert free.trajectory.dynamic_pressure.max() > 1.1 * 35 * kPa
    tight = replace(PELICAN_POINT, limits=ao.FlightLimits(dynamic_pressure=35 * kPa))
    bound = refused(heavy, tight)
    assert bound.trajectory.dynamic_pressure.max() < 1.015 * 35 * kPa
    assert (free.shortfall or 0.0) + 1.0 < (bound.shortfall or np.nan)
    assert "m/s, limits on loads aside" not in str(bound)


@pytest.fixture(scope="module")
def beyond_limits() -> ao.InfeasibleAscent:
    limits = replace(PELICAN_POINT.limits, dynamic_pressure=25 * kPa)
    return refused(TURNSTONE, replace(PELICAN_POINT, limits=limits))


@pytest.mark.slow
def test_where_every_flight_violates_the_limits_that_is_searched_for_once() -> None:
    """What begins with the same arcs is barred with the first, and not searched as well."""
    launch, solves = a_solid_that_cannot_slow_down(), CountedSolves()
    solver = replace(task_of(launch.vehicle, launch.mission), remembered=solves)
    free = list(structures_without_load_limits(solver, [], 1))
    assert [one.reached for one in free] == [True, True]
    before = solves.made
    within = result_of(limits_imposed_in_turn(solver, free))
    for_both = solves.made - before
    (searched,) = [one for one in within if one.least_violation_anywhere is not None]
    (barred,) = [one for one in within if one is not searched]
    assert barred.solution is None
    assert barred.shortfall is None
    alone = CountedSolves()
    plain = [one for one in free if not one.plan.restarts]
    result_of(limits_imposed_in_turn(replace(solver, remembered=alone), plain))
    assert for_both <= alone.made + 1  # the limits at once, which the barred one was tried with


def test_a_refusal_by_limits_says_how_much_too_fast_the_least_violation_is(
    beyond_limits: ao.InfeasibleAscent,
) -> None:
    flown, violation = beyond_limits.trajectory, beyond_limits.least_violation
    worst = int(np.argmax(flown.dynamic_pressure))
    slow_enough = flown.air_speed[worst] - beyond_limits.shortfall
    kept = flown.dynamic_pressure[worst] * (slow_enough / flown.air_speed[worst]) ** 2
    assert kept == pytest.approx(25 * kPa, rel=0.01)
    assert f"{beyond_limits.shortfall:.1f} m/s too fast through the air" in str(beyond_limits)
    assert flown.altitude[-1] == pytest.approx(300e3, rel=0.05)
    assert violation.payload.gain > 0.0
    assert "1 kg more of payload takes off" in str(beyond_limits)
    assert violation.feasible_payload is None
    assert "a quick search found none that flies within them" in str(beyond_limits)


@pytest.mark.slow
def test_less_thrust_takes_off_what_a_refusal_by_limits_says(
    beyond_limits: ao.InfeasibleAscent,
) -> None:
    """Solved again with half a per cent less thrust of the first stage."""
    (partial,) = beyond_limits.least_violation.thrusts
    first, second = TURNSTONE.stages
    engine = ao.Engine(vacuum_thrust=0.995 * 1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0)
    weaker = replace(TURNSTONE, stages=(replace(first, engine=engine), second))
    limits = replace(PELICAN_POINT.limits, dynamic_pressure=25 * kPa)
    again = refused(weaker, replace(PELICAN_POINT, limits=limits))
    assert again.least_violation.factor < beyond_limits.least_violation.factor
    taken_off = beyond_limits.least_violation.factor - again.least_violation.factor
    assert taken_off == pytest.approx(-0.5 * partial.gain, rel=0.05)


@pytest.mark.slow
def test_a_vehicle_that_never_comes_to_where_its_fairing_goes_has_a_number() -> None:
    launch = never_out_of_the_heat()
    refusal = refused(launch.vehicle, launch.mission)
    bound = launch.vehicle.ideal_delta_v
    assert 500.0 < (refusal.shortfall or np.nan) < bound
    assert f"short by {refusal.shortfall:.1f} m/s" in str(refusal)
    payload = refusal.diagnosis.payload
    lighter = ao.optimize(replace(launch.vehicle, payload_mass=payload), launch.mission)
    assert lighter.propellant_margin >= 0.0


@pytest.mark.slow
def test_a_shortfall_that_only_an_overdrawn_tank_tells_comes_with_a_flight_and_a_payload() -> None:
    launch = short_of_a_high_ellipse()
    refusal = refused(launch.vehicle, launch.mission)
    radius = launch.mission.body.radius
    apoapsis = launch.mission.orbit.apoapsis_radius_around(launch.mission.body) or np.nan
    assert refusal.trajectory.altitude.max() < 1.05 * (apoapsis - radius)
    payload = refusal.diagnosis.payload
    assert 0.5 * launch.vehicle.payload_mass < payload < launch.vehicle.payload_mass
    lighter = ao.optimize(replace(launch.vehicle, payload_mass=payload), launch.mission)
    assert lighter.propellant_margin >= 0.0


def test_a_thrust_of_which_a_little_more_makes_another_sequence_is_left_out() -> None:
    """Boosters that would burn out in another order have no slope, as they have no partial."""
    launch = boosters_in_turn()
    solver = task_of(launch.vehicle, launch.mission)
    short = attempt_at(solver, direct(launch.vehicle))
    violation = least_violation_of(solver, shortfall_within_limits(solver, short))
    assert violation is not None
    assert violation.factor > 1.0
    told = " ".join(partial.quantity for partial in violation.thrusts)
    assert "boosters 2" in told
    assert "boosters 1" not in told


@pytest.mark.slow
def test_limits_that_stand_in_the_way_are_said_before_what_another_structure_lacks() -> None:
    """A coasting flight reaches the orbit but for the limits: they are among what would help."""
    burn = 90.0
    boosters = ao.SolidMotor(
        time=(0.0, 0.3 * burn, 0.8 * burn, burn),
        vacuum_thrust=(1.1 * kN, 1.15 * kN, 0.9 * kN, 0.4 * kN),
        vacuum_isp=275.0,
        sea_level_isp=250.0,
    ).scaled_to(80e3)
    core = ao.Engine(
        vacuum_thrust=1500 * kN, vacuum_isp=330.0, sea_level_isp=300.0, min_throttle=0.4
    )
    upper = ao.Engine(vacuum_thrust=160 * kN, vacuum_isp=450.0)
    kick = ao.Engine(vacuum_thrust=30 * kN, vacuum_isp=330.0)
    vehicle = ao.Vehicle(
        name="Skua", payload_mass=8e3,
        stages=(
            ao.Stage(name="core", propellant_mass=150e3, dry_mass=10e3, engine=core),
            ao.Stage(name="up", propellant_mass=30e3, dry_mass=3e3, engine=upper, restarts=1,
                     ignition_delay=5.0),
            ao.Stage(name="kick", propellant_mass=4e3, dry_mass=500.0, engine=kick, restarts=2,
                     ignition_delay=3.0),
        ),
        boosters=(ao.BoosterGroup(name="b", count=2, propellant_mass=80e3, dry_mass=9e3,
                                  engine=boosters),),
        fairing=ao.Fairing(mass=1500.0),
        aerodynamics=ao.Aerodynamics(reference_area=18.0, drag_coefficient=0.4),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=28 * deg),
        orbit=ao.CircularOrbit(altitude=1000 * km, inclination=63.4 * deg),
        limits=ao.FlightLimits(dynamic_pressure=35 * kPa),
    )
    refusal = refused(vehicle, mission)
    assert "within the limits" in str(refusal)
    assert "limit on dynamic pressure" in [one.limit for one in refusal.diagnosis.relief]
    eased = ao.FlightLimits(dynamic_pressure=48 * kPa, q_alpha=200 * kPa * deg)
    assert ao.optimize(vehicle, replace(mission, limits=eased)).propellant_margin > 0.0

"""Burns and coasts beside direct insertion: what they gain, and what is said of those left out."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.guess.ballistic_coast import BallisticCoast
from ascentopt.optimal.in_turn import result_of
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.target.aim import AimPoint
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.census import SETTLED_BY, open_attempts
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.optimal.structure.search import search_from
from ascentopt.optimal.task import Task
from ascentopt.units import km, kN, kPa, tonne
from ascentopt.world.orbital_elements import apoapsis_radius, elements
from tests.optimal.launchers import earth_mission, lander, moon_mission
from tests.optimal.structure.launches import (
    a_last_burn_of_a_second,
    four_stages_to_a_plane_below_the_latitude,
)
from tests.optimal.three_stages import with_restarts


def no_restart() -> ao.Vehicle:
    """A strong first stage under one that is lit once."""
    first = ao.Stage(
        name="first", propellant_mass=60 * tonne, dry_mass=7 * tonne,
        engine=ao.Engine(vacuum_thrust=1330 * kN, vacuum_isp=427.0, sea_level_isp=380.0),
    )  # fmt: skip
    second = ao.Stage(
        name="second", propellant_mass=12.8 * tonne, dry_mass=1.7 * tonne,
        engine=ao.Engine(vacuum_thrust=112 * kN, vacuum_isp=361.0),
    )  # fmt: skip
    return ao.Vehicle(name="Godwit", payload_mass=1.1 * tonne, stages=(first, second))


def high() -> ao.Mission:
    """To 1100 km, where one burn after the other is too short."""
    return replace(
        earth_mission(dynamic_pressure=60 * kPa), orbit=ao.CircularOrbit(altitude=1100 * km)
    )


@pytest.fixture(scope="module")
def coasted() -> ao.Ascent:
    return ao.optimize(no_restart(), high())


def test_a_high_orbit_without_a_restart_is_reached_by_coasting_before_the_last_stage(
    coasted: ao.Ascent,
) -> None:
    best, other = coasted.candidates
    assert best.plan.coast_before == (1,)
    assert other.plan.coast_before == ()
    assert coasted.certificate.verdict is Verdict.CERTIFIED
    ignition, separation = coasted.events["second ignition"], coasted.events["first separation"]
    assert ignition.time - separation.time > 30.0
    assert other.propellant_used is None or other.propellant_used > coasted.propellant_used


def test_every_structure_is_on_record(coasted: ao.Ascent) -> None:
    offered = {replace(plan, fairing_arc=None) for plan in plans(no_restart(), high())}
    assert {replace(c.plan, fairing_arc=None) for c in coasted.candidates} == offered
    assert all(candidate.history for candidate in coasted.candidates)


def test_a_coast_that_cannot_pay_is_skipped_and_says_why() -> None:
    """A low orbit and a first stage that leaves the second most of the work."""
    first, second = no_restart().stages
    weak = replace(first, propellant_mass=30 * tonne, dry_mass=4 * tonne)
    vehicle = replace(no_restart(), stages=(weak, second))
    low = replace(
        earth_mission(), orbit=ao.CircularOrbit(altitude=180 * km), limits=ao.FlightLimits()
    )
    best, other = ao.optimize(vehicle, low).candidates
    assert (best.plan.coast_before, other.standing) == ((), Standing.SKIPPED)
    assert other.result == "not solved for"
    assert other.history  # the reason, which is that of its costates
    burn = attempt_at(task_of(vehicle, low), best.plan)
    assert burn.reached
    assert not burn.would_rather_coast()


def test_thrust_in_excess_would_rather_coast() -> None:
    """By Pontryagin's principle: on the Moon a burn with a strong engine should be interrupted."""
    solver = task_of(lander(), moon_mission())
    assert attempt_at(solver, FlightPlan(inserting_stage=0)).would_rather_coast()


def test_the_missing_speed_is_known_where_the_height_is_out_of_reach() -> None:
    """A vertical climb is no measure of an orbit: what is missing stays below what an orbit is."""
    first, second = no_restart().stages
    weak = replace(no_restart(), payload_mass=6 * tonne, stages=(first, second))
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(weak, high())
    assert refusal.value.shortfall is not None
    assert 50.0 < refusal.value.shortfall < 3000.0


def test_a_loft_coasts_up_to_where_kepler_says() -> None:
    """Up at 45 degrees from 100 km: the time and the height of the top by the orbit's elements."""
    mu, radius = ao.earth().gravitational_parameter, ao.earth().radius + 100 * km
    state = np.array([radius, 0.0, 0.0, 2000.0, 2000.0, 0.0, 5000.0])
    top = apoapsis_radius(mu, state[:3], state[3:6])
    until = elements(mu, state[:3], state[3:6]).time_to_apoapsis

    def loft(height: float) -> BallisticCoast:
        return BallisticCoast(
            aim=AimPoint(height, 7000.0), mu=mu, exhaust=3500.0, flow=30.0, empty=1e3, at_end=False
        )

    beyond, below = loft(top + 50 * km).plan(state), loft(0.5 * (radius + top)).plan(state)
    assert beyond.time == pytest.approx(until, rel=1e-9)
    assert below.time < 0.5 * until
    slower = state * np.array([1.0, 1.0, 1.0, 0.9, 1.0, 1.0, 1.0])
    both = loft(top).miss(np.stack((state, slower), axis=1)[None])[0]
    assert both[0] < both[1]


def settled(ascent: ao.Ascent) -> bool:
    """Whether the certificate names no structure that may be better."""
    structures = ascent.certificate.structures
    assert structures is not None
    return structures.settled


@pytest.mark.slow
def test_four_stages_to_a_plane_below_the_latitude_leave_no_structure_open() -> None:
    ascent = four_stages_to_a_plane_below_the_latitude().optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert settled(ascent)
    assert ascent.propellant_used < 36_952.0


@pytest.mark.slow
def test_a_last_burn_that_shrinks_to_nothing_is_no_answer() -> None:
    """A last burn of a second seems to pay on a coarse mesh and shrinks to nothing on a finer one.

    The other heading, whose flight was refined, uses 0.3 % more.
    """
    ascent = a_last_burn_of_a_second().optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert settled(ascent)
    assert ascent.plan.southward
    assert ascent.propellant_used < 1844.5


@cache
def twice_lit() -> tuple[Task, Attempt]:
    """Two burns of a lander that might be lit three times, from the Moon to a low circle."""
    solver = task_of(with_restarts(lander(), 2), moon_mission())
    found = impose_limits(solver, attempt_at(solver, FlightPlan(inserting_stage=0, restarts=1)))
    assert found.reached
    assert found.keeps_limits
    return solver, found


def test_an_open_structure_is_solved_from_a_flight_a_move_away() -> None:
    """Three burns that no guess led to: two of them, and one more put in."""
    solver, twice = twice_lit()
    plan = replace(twice.plan, restarts=2)
    lost = replace(twice, plan=plan, solution=None, shortfall=None, keeps_limits=False)
    worth = SETTLED_BY * solver.vehicle.propellant_mass
    assert open_attempts(twice, [lost], worth) == [lost]
    search, attempts = result_of(search_from(solver, [twice, lost]))
    assert attempts[0] is search.best
    assert lost not in attempts
    assert all(one.reached for one in attempts if one.plan.restarts == 2)
    assert search.best.unspent > twice.unspent - 0.1 * worth
    assert open_attempts(attempts[0], attempts[1:], worth) == []

"""What is known of a flight that does not reach the orbit, and of all while limits are imposed."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.collocation import Solution, SolverSettings, solve
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.transcription import missing_speed
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.solve.outcome import Shortfall, Unsolved, nearer, unsolved_near
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.units import kPa, tonne
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import lander, moon_mission


def flown(payload: float) -> Attempt:
    """The direct insertion of a lander from the Moon with so much payload."""
    vehicle = replace(lander(), payload_mass=payload)
    return attempt_from_first_guess(task_of(vehicle, moon_mission()), direct(vehicle))


@pytest.fixture(scope="module")
def heavy() -> Attempt:
    return flown(4.5 * tonne)


@pytest.fixture(scope="module")
def heavier() -> Attempt:
    return flown(4.8 * tonne)


def nearest(attempt: Attempt) -> Solution:
    assert attempt.nearest_flight is not None
    return attempt.nearest_flight


def test_the_nearest_flight_misses_by_the_shortfall(heavy: Attempt) -> None:
    assert not heavy.reached
    assert heavy.shortfall == missing_speed(nearest(heavy)) > 1.0


def test_a_flight_that_misses_by_nothing_is_no_shortfall(heavy: Attempt) -> None:
    arrives = flown(1.2 * tonne)
    assert arrives.reached
    assert arrives.nearest_flight is None
    task = task_of(replace(lander(), payload_mass=1.2 * tonne), moon_mission())
    told = arrives.transcription_of(task.vehicle, task.mission, arrives.sequence, arrives.found)
    problem = told.least_missing_speed_problem()
    near = solve(problem, arrives.found.as_guess(), SolverSettings(iterations=150))
    found = unsolved_near(near)
    assert isinstance(found, Unsolved)
    assert found.nearest is near
    short = unsolved_near(nearest(heavy))
    assert isinstance(short, Shortfall)
    assert short.speed == heavy.shortfall


def test_the_flight_with_less_payload_comes_nearer(heavy: Attempt, heavier: Attempt) -> None:
    light, laden = Shortfall.of(nearest(heavy)), Shortfall.of(nearest(heavier))
    assert light.speed < laden.speed
    assert nearer(light, laden) is nearer(laden, light) is light
    assert nearer(light, Unsolved()) is nearer(Unsolved(), light) is light


def test_no_structure_is_lost_while_limits_are_imposed() -> None:
    """Each stands in its place with how far it has come, the best one at last first."""
    limits = ao.FlightLimits(dynamic_pressure=40 * kPa)
    mission = replace(PELICAN_POINT, limits=limits)
    solver = task_of(TURNSTONE, mission)
    begun = [attempt_from_first_guess(solver, plan) for plan in plans(TURNSTONE, mission)]
    assert len(begun) > 1
    states = list(limits_imposed_in_turn(solver, begun))
    assert len(states) >= len(begun)
    burns = {(one.plan.restarts, one.plan.coast_before) for one in begun}
    for state in states:
        assert len(state) == len(begun)
        assert {(one.plan.restarts, one.plan.coast_before) for one in state} == burns
    best = states[-1][0]
    assert best.keeps_limits
    assert best.unspent == max(one.unspent for one in states[-1] if one.keeps_limits)

"""Where no flight keeps the limits, the refusal says by how much they must be raised."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import NotConverged, Solution, SolverSettings, solve
from ascentopt.collocation.nlp.program import build
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.elastic_limits import ElasticSolution, with_load_excess
from ascentopt.optimal.problem.transcription import Transcription
from ascentopt.optimal.problem.violations import loads
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.task import Task
from ascentopt.units import deg, kPa
from tests.optimal.launchers import earth_mission
from tests.optimal.problem.test_limits import vehicle

WEAK = ao.FlightLimits(dynamic_pressure=25 * kPa)
"""Too little for an engine of fixed thrust."""

BEARABLE = ao.FlightLimits(dynamic_pressure=35 * kPa)
"""A quarter less than what the flight without limits bears."""


def solver(limits: ao.FlightLimits) -> Task:
    return task_of(vehicle(), replace(earth_mission(), limits=limits))


@pytest.fixture(scope="module")
def attempt() -> Attempt:
    return attempt_at(solver(ao.FlightLimits.none()), FlightPlan(inserting_stage=1))


def written(attempt: Attempt, limits: ao.FlightLimits) -> Transcription:
    """The flight of an attempt with its first stage within limits that may be eased."""
    task = solver(limits)
    broken = {one.arc for one in loads(attempt.found, attempt.sequence) if one.ratio(limits) > 0.98}
    held = replace(attempt, limited_arcs=frozenset(broken))
    told = held.transcription_of(task.vehicle, task.mission, attempt.sequence, attempt.found)
    return replace(told, elastic_limits=True)


def mildest(attempt: Attempt, limits: ao.FlightLimits) -> ElasticSolution:
    flight = written(attempt, limits)
    start = with_load_excess(attempt.found.as_guess(), 2.0)
    settings = SolverSettings(iterations=200, near_barrier=1e-3)
    return ElasticSolution(solve(flight.greatest_mass_problem(), start, settings), flight)


def test_all_modes_of_a_flight_share_a_program(attempt: Attempt) -> None:
    flights = [replace(written(attempt, BEARABLE), elastic_limits=easy) for easy in (False, True)]
    programs = {
        build(mode.structure())
        for one in flights
        for mode in (one.greatest_mass_problem(), one.least_missing_speed_problem())
    }
    assert len(programs) == 1


def test_limits_that_can_be_kept_are_not_eased(attempt: Attempt) -> None:
    found = mildest(attempt, BEARABLE)
    assert found.factor == pytest.approx(1.0, abs=1e-6)


def test_an_eased_flight_starts_the_plain_program_with_its_multipliers(attempt: Attempt) -> None:
    found = mildest(attempt, BEARABLE)
    problem = replace(found.flight, elastic_limits=False).greatest_mass_problem()
    again: Solution = solve(problem, found.solution, SolverSettings())
    assert again.iterations < 10
    mass = found.solution.arcs[-1].states[-1, 6]
    assert again.objective == pytest.approx(mass, rel=1e-6)


def test_limits_that_cannot_be_kept_are_eased_to_where_the_vehicle_flies(attempt: Attempt) -> None:
    found = mildest(attempt, WEAK)
    assert 1.05 < found.factor < 1.5
    bears = max(one.ratio(WEAK) for one in loads(found.solution, attempt.sequence))
    assert bears > found.factor


def test_less_easing_than_that_is_not_solved(attempt: Attempt) -> None:
    found = mildest(attempt, WEAK)
    less = 0.97 * found.factor
    limits = ao.FlightLimits(
        dynamic_pressure=less * 25 * kPa, q_alpha=less * (WEAK.q_alpha or np.nan)
    )
    told = replace(written(attempt, limits), elastic_limits=False)
    with pytest.raises(NotConverged):
        solve(told.greatest_mass_problem(), found.solution, SolverSettings(iterations=150))


@pytest.fixture(scope="module")
def refusal() -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(vehicle(), solver(WEAK).mission)
    return caught.value


def test_the_refusal_says_what_the_limits_must_be_raised_to(refusal: ao.InfeasibleAscent) -> None:
    violation = refusal.least_violation
    assert f"dynamic pressure {25 * violation.factor:.4g} kPa (limit 25)" in str(refusal)
    assert f"q alpha {150 * violation.factor:.4g} kPa deg (limit 150)" in str(refusal)
    assert pickle.loads(pickle.dumps(refusal)).least_violation.factor == violation.factor


def test_a_limit_relaxed_alone_takes_off_what_the_refusal_says(
    attempt: Attempt, refusal: ao.InfeasibleAscent
) -> None:
    active = refusal.least_violation.active_limits
    hold = next(one for one in active if one.limit == "limit on dynamic pressure")
    step = 0.5
    relaxed = mildest(attempt, replace(WEAK, dynamic_pressure=(25 + step) * kPa))
    tight = mildest(attempt, WEAK)
    assert tight.factor - relaxed.factor == pytest.approx(step * hold.gain, rel=0.2)


def test_a_throttle_keeps_what_a_fixed_thrust_breaks() -> None:
    mission = solver(WEAK).mission
    ascent = ao.optimize(vehicle(min_throttle=0.6), mission)
    assert ascent.trajectory.dynamic_pressure.max() < 1.015 * 25 * kPa
    assert np.nanmax(ascent.trajectory.q_alpha) < 1.015 * 150 * kPa * deg

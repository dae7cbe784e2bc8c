"""A deliberately wrong answer loses its certificate, each by the number that is meant to tell."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import numpy as np
import pytest

from ascentopt.collocation import RadauMesh, Solution, remeshed, solve
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import limits
from ascentopt.collocation.solution import Raw
from ascentopt.collocation.solver.readback import read_back
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, task_of
from ascentopt.optimal.result.certificate import Verdict, certify
from ascentopt.optimal.result.steering_table import steering_of
from ascentopt.optimal.result.terminal_correction import correct_terminal_target
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from tests.optimal.launchers import four_phase_launcher, four_phase_mission

EFFORT = Effort()
SOLVING = task_of(four_phase_launcher(), four_phase_mission())
LIMITS = SOLVING.mission.limits


@pytest.fixture(scope="module")
def good() -> tuple[Attempt, Flight]:
    attempt = attempt_at(SOLVING, FlightPlan(inserting_stage=1))
    attempt = refine_mesh(SOLVING, impose_limits(SOLVING, attempt))
    return attempt, _flown(attempt)


def _flown(attempt: Attempt) -> Flight:
    return fly(SOLVING.vehicle, SOLVING.mission, steering_of(attempt, SOLVING.mission))


def _with(solution: Solution, raw: Raw) -> Solution:
    """The same problem read back from other vectors, as if the solver had left them."""
    problem = solution.problem
    program = build(problem.structure())
    return read_back(problem, program, limits(problem, program.layout), raw,
                     solution.outcome, solution.iterations)  # fmt: skip


def test_the_right_answer_has_it(good: tuple[Attempt, Flight]) -> None:
    assert certify(*good, LIMITS).verdict is Verdict.CERTIFIED


def test_one_node_that_thrusts_backwards_loses_it(good: tuple[Attempt, Flight]) -> None:
    attempt, flight = good
    layout = build(attempt.found.problem.structure()).layout
    x = attempt.found.raw.x.copy()
    controls = layout.arcs[-1].node_variables[3, 7:]
    x[controls] = -x[controls]
    wrong = replace(attempt, solution=_with(attempt.found, replace(attempt.found.raw, x=x)))
    lost = certify(wrong, flight, LIMITS).beyond()
    assert {"primer_angle", "primal_residual"} <= set(lost)


def test_stale_multipliers_lose_it(good: tuple[Attempt, Flight]) -> None:
    attempt, flight = good
    raw = attempt.found.raw
    stale = replace(raw, lam_g=np.roll(raw.lam_g, 7))
    wrong = replace(attempt, solution=_with(attempt.found, stale))
    assert "dual_residual" in certify(wrong, flight, LIMITS).beyond()


def test_a_coarse_mesh_loses_it(good: tuple[Attempt, Flight]) -> None:
    attempt, _ = good
    mesh = RadauMesh.uniform(intervals=1, degree=3)
    problem = remeshed(attempt.found.problem, (mesh,) * len(attempt.sequence.arcs))
    coarse = replace(attempt, solution=solve(problem, attempt.found.as_guess()))
    lost = certify(coarse, _flown(coarse), LIMITS).beyond()
    assert {"continuous_error", "position_miss", "velocity_miss"} <= set(lost)


def test_a_flight_of_another_steering_loses_it(good: tuple[Attempt, Flight]) -> None:
    attempt, flight = good
    by = np.array([200.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    lead = correct_terminal_target(SOLVING, attempt, by, hold_coasts=False)
    assert "position_miss" in certify(lead, flight, LIMITS).beyond()


def test_the_hamiltonian_is_zero_where_the_end_is_free(good: tuple[Attempt, Flight]) -> None:
    found = certify(*good, LIMITS)
    assert found.hamiltonian_at_end < 1e-3
    attempt, flight = good
    raw = attempt.found.raw
    layout = build(attempt.found.problem.structure()).layout
    x = raw.x.copy()
    x[layout.arcs[-1].node_variables[:, 6]] *= 1.1  # heavier: thrust does less than it costs
    wrong = replace(attempt, solution=_with(attempt.found, replace(raw, x=x)))
    assert certify(wrong, flight, LIMITS).hamiltonian_at_end > 1e-2


def test_a_rule_of_thumb_that_costs_less_takes_it_away(good: tuple[Attempt, Flight]) -> None:
    found = certify(*good, LIMITS)
    assert replace(found, rule_gain=-0.01).verdict is Verdict.CERTIFIED
    assert replace(found, rule_gain=2e-4).beyond() == ("rule_gain",)


def test_a_number_that_does_not_exist_says_why_and_one_that_must_exist_is_beyond(
    good: tuple[Attempt, Flight],
) -> None:
    found = replace(certify(*good, LIMITS), rule_gain=nan)
    assert found.verdict is Verdict.CERTIFIED
    assert "no rule that keeps the limits was flown" in str(found)
    assert "nan" not in str(found)
    lost = replace(found, position_miss=nan)
    assert lost.beyond() == ("position_miss",)
    assert "nan" in str(lost)


def test_a_last_burn_that_should_not_be_has_no_free_end(good: tuple[Attempt, Flight]) -> None:
    """At its shortest the Hamiltonian tells what a shorter one would gain, and is not zero."""
    attempt, flight = good
    *before, last = attempt.sequence.arcs
    held = replace(last, duration=(attempt.found.arcs[-1].duration, last.duration[1]))
    sequence = replace(attempt.sequence, arcs=(*before, held))
    assert np.isnan(certify(replace(attempt, sequence=sequence), flight, LIMITS).hamiltonian_at_end)


def test_a_flight_beyond_a_limit_takes_it_away(good: tuple[Attempt, Flight]) -> None:
    attempt, flight = good
    peak = flight.trajectory.peak(Trajectory.dynamic_pressure).value
    none = FlightLimits.none()
    kept, broken = (replace(none, dynamic_pressure=share * peak) for share in (1.1, 0.9))
    found = certify(attempt, flight, kept)
    assert found.limit_excess == pytest.approx(1.0 / 1.1 - 1.0, abs=1e-3)
    assert found.verdict is Verdict.CERTIFIED
    assert certify(attempt, flight, broken).beyond() == ("limit_excess",)
    assert np.isnan(certify(attempt, flight, none).limit_excess)

"""A limit on the time of the whole ends in the best flight so far, marked as unfinished."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import replace
from itertools import count
from math import inf

import pytest

import ascentopt as ao
from ascentopt.collocation import SolverSettings
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.deadline import GRAIN, settings_until
from ascentopt.optimal.explain.diagnosis import diagnose
from ascentopt.optimal.explain.heaviest_payload import heaviest_flight
from ascentopt.optimal.optimize import _optimum_at_fixed_instant, _solve_structures
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.stoppable_search import StoppableSearch
from ascentopt.optimal.task import Task
from ascentopt.progress import Deadline, TimeIsUp
from ascentopt.units import tonne
from tests.optimal.launchers import lander, moon_mission

PATIENT = SolverSettings(iterations=150, time_limit=20.0)


TICK = 100.0
"""s, longer than any solve may take: what is left cuts none short, however slow the processor."""


def at(instant: float) -> Callable[[], float]:
    return lambda: instant


def solver(payload: float, solves: float) -> Task:
    """A task whose time is up after so many solves: the clock ticks whenever it is asked."""
    effort, ticks = ao.Effort(), count(1)
    return Task(
        vehicle=replace(lander(), payload_mass=payload),
        mission=moon_mission(),
        settings=effort.settings,
        refinement=effort.refinement,
        deadline=Deadline(at=(solves + 0.5) * TICK, clock=lambda: next(ticks) * TICK),
    )


def stopped(solves: int) -> ao.OutOfTime:
    task = solver(1.2 * tonne, solves)
    with pytest.raises(ao.OutOfTime) as told:
        _optimum_at_fixed_instant(task, task.mission, _solve_structures(task))
    return told.value


def test_a_solve_gets_what_is_left_and_no_more() -> None:
    assert settings_until(Deadline(), PATIENT) == PATIENT
    assert settings_until(Deadline(at=30.0, clock=at(5.0)), PATIENT) == PATIENT
    left = settings_until(Deadline(at=30.0, clock=at(26.7)), PATIENT).time_limit
    assert 3.3 <= left < 3.3 + GRAIN
    with pytest.raises(TimeIsUp):
        settings_until(Deadline(at=30.0, clock=at(30.0)), PATIENT)
    assert Deadline.after(None).at == inf


def test_a_limit_must_be_positive() -> None:
    with pytest.raises(ao.InputError, match="time_limit is 0"):
        ao.optimize(lander(), moon_mission(), time_limit=0)


def test_before_any_flight_there_is_nothing_to_attach() -> None:
    with pytest.raises(ao.OutOfTime, match="no flight to the orbit is finished") as told:
        ao.optimize(lander(), moon_mission(), time_limit=1e-9)
    assert told.value.best is None
    assert "(1e-09 s) is up" in str(told.value)


def test_the_best_flight_so_far_comes_along() -> None:
    told = stopped(solves=2)
    assert isinstance(told.best, ao.Ascent)
    first = told.best.candidates[0]
    assert first.standing is Standing.UNFINISHED
    assert first.at_least  # without the limits on loads, and on the first mesh
    assert told.best.certificate.continuous_error > ao.Effort().refinement.tolerance
    # What it has left is what its own tank holds, not what it might have burned on credit.
    empty = 1.2 * tonne + lander().stages[-1].dry_mass
    assert told.best.propellant_margin == pytest.approx(told.best.final_mass - empty, rel=1e-9)
    again = pickle.loads(pickle.dumps(told))
    assert again.best.final_mass == told.best.final_mass
    assert str(again) == str(told)


def test_more_time_brings_a_better_flight() -> None:
    """With the second structure solved, too, at the last solve that time is up before."""
    early, late = stopped(solves=2).best, _stopped_as_late_as_can_be().best
    assert isinstance(early, ao.Ascent)
    assert isinstance(late, ao.Ascent)
    assert late.final_mass > early.final_mass + 100.0
    assert early.candidates[0].at_least
    assert not late.candidates[0].at_least  # within the limits on loads


def _stopped_as_late_as_can_be() -> ao.OutOfTime:
    """How many solves it takes is rounding's affair, and the last ones may do without time."""
    for solves in range(_asked() - 1, 2, -1):
        try:
            return stopped(solves=solves)
        except pytest.fail.Exception:  # the answer was there before
            continue
    raise AssertionError("every number of solves was enough")


def _asked() -> int:
    """How often an answer asks the clock."""
    task = solver(1.2 * tonne, inf)
    StoppableSearch(task, _solve_structures(task)).result()
    return round(task.deadline.clock() / TICK) - 1


@pytest.mark.slow
def test_enough_time_changes_nothing() -> None:
    limits = None, 1000.0
    ascents = [ao.optimize(lander(), moon_mission(), time_limit=limit) for limit in limits]
    masses = [one.final_mass for one in ascents]
    assert masses[0] == masses[1]


def test_a_refusal_comes_without_a_payload_when_time_is_up() -> None:
    task = solver(4.5 * tonne, inf)
    attempt = attempt_from_first_guess(task, _direct(task))
    assert attempt.shortfall is not None
    late = replace(task, deadline=Deadline(at=0.0, clock=at(1.0)))
    assert heaviest_flight(late, [attempt]) is None
    assert diagnose(late, attempt).shortfall == attempt.shortfall
    assert heaviest_flight(task, [attempt]) is not None


def _direct(task: Task) -> ao.FlightPlan:
    return ao.FlightPlan(inserting_stage=len(task.vehicle.stages) - 1)

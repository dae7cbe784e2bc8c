"""Coasts put into flights that were found, before stages where the costates ask for one."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.solve.attempts import attempt_with_coast_before
from ascentopt.optimal.switching.coasting import cost_of_coasting
from ascentopt.optimal.task import Task

LEAST_RATE_OF_COAST = 1e-3
"""Share of the mass in orbit, or of the squared missing speed, that a coast of sqrt(R^3/mu) (806 s
on the Earth) would have to gain at the rate of its first second. It gains less than a tenth of it,
for what pays at first soon does not."""

SHARE_OF_FIRST_RATE = 0.1
"""Of that rate times that time, what a coast gains at most, or hardly more."""

SAME_PROPELLANT = 0.01
"""kg by which flights of two structures differ that are one: a first burn may have no length."""


def coasts_that_pay(task: Task, known: list[Attempt], stage: int) -> Iterator[Attempt]:
    """The best flight with which a stage inserts, with coasts as long as its costates ask for one.

    They are those that no plan from a guess has, between lower stages for the most part. Another
    flight may be worth more with coasts than the best one is: the one that promises most is next.
    """
    own = [a for a in known if a.plan.inserting_stage == stage and a.shortfall is not None]
    best = max(own, key=lambda one: one.rank, default=None)
    if best is None:
        return
    reached = best
    for one in _further_coasts(task, known, best, stage):
        known, reached = [*known, one], max(reached, one, key=lambda one: one.rank)
        yield one
    others = [
        one for one in own if one.reached and abs(one.unspent - best.unspent) > SAME_PROPELLANT
    ]
    new = [one for one in others if not _has_all_coasts_of(reached.plan, one.plan)]
    next_one = max(new, key=_unspent_with_another_coast, default=None)
    if next_one is not None and _unspent_with_another_coast(next_one) > reached.unspent:
        yield from _further_coasts(task, known, next_one, stage)


def _has_all_coasts_of(plan: FlightPlan, other: FlightPlan) -> bool:
    return plan.restarts == other.restarts and {*plan.coast_before} >= {*other.coast_before}


def _further_coasts(
    task: Task, known: list[Attempt], best: Attempt, stage: int
) -> Iterator[Attempt]:
    """What one coast after another makes of a flight, up to the first that is no better."""
    for _ in range(stage):
        before = _stage_before_which_a_coast_pays(best, known)
        other = None if before is None else attempt_with_coast_before(task, best, before)
        if other is None:
            return
        yield other
        if other.rank <= best.rank:
            return
        best, known = other, [*known, other]


def _unspent_with_another_coast(attempt: Attempt) -> float:
    """Propellant in kg that may be left if the attempt's flight is given another coast."""
    flight = attempt.best_known_flight
    if flight is None:
        return -inf
    stages = range(1, attempt.plan.inserting_stage + 1)
    most = max((-cost_of_coasting(flight, attempt.sequence, k) for k in stages), default=0.0)
    return attempt.unspent + SHARE_OF_FIRST_RATE * max(most, 0.0) * flight.problem.time.scale


def _stage_before_which_a_coast_pays(attempt: Attempt, known: list[Attempt]) -> int | None:
    """The stage before which a coast pays most from its first second; None where none does."""
    flight, plan = attempt.best_known_flight, attempt.plan
    if flight is None:
        return None
    tried = {one.plan.coast_before for one in known if one.plan.restarts == plan.restarts}
    costs = {
        stage: cost_of_coasting(flight, attempt.sequence, stage)
        for stage in range(1, plan.inserting_stage + 1)
        if plan.coasting_before(stage).coast_before not in tried
    }
    stage = min(costs, key=costs.__getitem__, default=None)
    whole = attempt.final_mass if attempt.reached else (attempt.shortfall or 0.0) ** 2
    pace = flight.problem.time.scale
    return (
        stage if stage is not None and -costs[stage] * pace > LEAST_RATE_OF_COAST * whole else None
    )

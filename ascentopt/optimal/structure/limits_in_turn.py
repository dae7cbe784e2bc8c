"""Limits on loads imposed on every attempt that may be best, and on what falls short."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.solve.ways_within_limits import (
    impose_limits,
    shortfall_within_limits,
    with_start_within_limits,
)
from ascentopt.optimal.task import Task


def limits_imposed_in_turn(task: Task, attempts: list[Attempt]) -> AttemptsInTurn[list[Attempt]]:
    """All attempts as they stand after each that is done; at the end, and returned, the best first.

    Limits only cost propellant. An attempt that has less left without them than another has within
    them is beaten as it stands.
    """
    waiting, done = sorted(attempts, key=lambda attempt: -attempt.unspent), list[Attempt]()
    while waiting:
        attempt, *waiting = waiting
        done.append(_within_limits(task, attempt, done) if _may_be_best(attempt, done) else attempt)
        yield [*done, *waiting]
    last = best_first(done)
    yield last
    return last


def _within_limits(task: Task, free: Attempt, done: list[Attempt]) -> Attempt:
    """An attempt within the limits; where it is lost, what it did without them is kept in mind."""
    barrier = next((one for one in done if _bars(one, free)), None)
    if barrier is None:
        found = with_start_within_limits(task, impose_limits(task, free), free)
    else:
        line = (
            f"limits not imposed: it begins as {barrier.plan}, which no flight brings through the "
            "same arcs within them, wherever it ends"
        )
        found = replace(free, solution=None, shortfall=None, history=(*free.history, line))
    return found if found.keeps_limits else replace(found, unspent_without_limits=free.unspent)


def _bars(one: Attempt, other: Attempt) -> bool:
    """Whether no flight brings one through arcs with which the other begins as well.

    Alike but for how fast the direction may turn, up to the last one on which limits are imposed.
    """
    limited = [k for k, name in enumerate(one.sequence.names) if name in one.limited_arcs]
    if one.least_violation_anywhere is None or not limited:
        return False
    first, second = (_at_any_turn_rate(each)[: limited[-1] + 1] for each in (one, other))
    return first == second


def _at_any_turn_rate(attempt: Attempt) -> list[FlightArc]:
    arcs = attempt.sequence.arcs
    return [replace(arc, kind=replace(arc.kind, direction_is_state=False)) for arc in arcs]


def _may_be_best(attempt: Attempt, done: list[Attempt]) -> bool:
    """Whether it reaches the orbit, and within the limits may be better than all that are done."""
    best = max((one.unspent for one in done if one.keeps_limits), default=-np.inf)
    return attempt.reached and not attempt.keeps_limits and attempt.unspent > best


def best_first(attempts: list[Attempt]) -> list[Attempt]:
    """Those within the limits first, the one with most left at the top."""
    return sorted(attempts, key=lambda attempt: (not attempt.keeps_limits, -attempt.unspent))


def nearest_within_limits(task: Task, attempts: list[Attempt]) -> list[Attempt]:
    """Attempts of which none flies, the one that comes nearest within the limits on loads.

    Limits only cost speed: those that lack more without them need not be looked into.
    """
    done = list(attempts)
    for _ in attempts:
        short = [
            one for one in done if one.nearest_flight is not None and one.shortfall is not None
        ]
        nearest = min(short, key=lambda one: one.shortfall or 0.0, default=None)
        if nearest is None or nearest.shortfall_keeps_limits or nearest.shortfall == 0.0:
            break
        within = shortfall_within_limits(task, nearest)
        done[done.index(nearest)] = within
        if not within.shortfall_keeps_limits:
            break
    return best_first(done)

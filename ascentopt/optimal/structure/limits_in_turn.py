"""Limits on loads imposed on every attempt that may be best, and on what falls short."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.turn_rate import fixed_thrust
from ascentopt.optimal.solve.ways_within_limits import (
    impose_limits_by_relaxation,
    impose_limits_directly,
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
        if _may_be_best(attempt, done):
            tried = _at_once_unless_barred(task, attempt, done)
            simpler = _simpler(task, attempt, waiting) if _is_open(tried) else None
            if simpler is not None:
                waiting.remove(simpler)
                own = _at_once_unless_barred(task, simpler, done)
                done.append(_within_limits(task, simpler, own, done))
                yield [*done, attempt, *waiting]
            attempt = _within_limits(task, attempt, tried, done)
        done.append(attempt)
        yield [*done, *waiting]
    last = best_first(done)
    yield last
    return last


def _at_once_unless_barred(task: Task, free: Attempt, done: list[Attempt]) -> Attempt:
    """An attempt within the limits where the solver follows at once; else it stands."""
    barred = any(_bars(one, free) for one in done)
    return free if barred else impose_limits_directly(task, free)


def _simpler(task: Task, attempt: Attempt, others: list[Attempt]) -> Attempt | None:
    """One with fewer arcs, and the same ones to where limits press on a thrust that is fixed.

    What bars it bars the attempt as well, and it is found sooner: what wanders while the limits
    tighten is the rest of the flight.
    """
    broken = LimitedSolver.resumed(task, attempt).overloaded_arcs(attempt.found)
    pressed = fixed_thrust(attempt.sequence, broken)
    through = 1 + max((attempt.sequence.names.index(name) for name in pressed), default=-1)
    alike = [
        one
        for one in others
        if _is_open(one)
        and len(one.sequence.arcs) < len(attempt.sequence.arcs)
        and _begin_alike(one, attempt, through)
    ]
    return min(alike, key=lambda one: len(one.sequence.arcs), default=None) if pressed else None


def _within_limits(task: Task, free: Attempt, tried: Attempt, done: list[Attempt]) -> Attempt:
    """An attempt within the limits; where it is lost, what it did without them is kept in mind.

    Args:
        task: whose limits they are.
        free: the attempt without them.
        tried: what they led to at once.
        done: those that are finished, which may bar it.
    """
    barrier = next((one for one in done if _bars(one, free)), None)
    if tried.keeps_limits:
        found = with_start_within_limits(task, tried, free)
    elif barrier is None:
        found = with_start_within_limits(task, impose_limits_by_relaxation(task, tried), free)
    else:
        line = (
            f"limits not imposed: it begins as {barrier.plan}, which no flight brings through the "
            "same arcs within them, wherever it ends"
        )
        found = replace(tried, solution=None, shortfall=None, history=(*tried.history, line))
    return found if found.keeps_limits else replace(found, unspent_without_limits=free.unspent)


def _bars(one: Attempt, other: Attempt) -> bool:
    """Whether no flight brings one through arcs with which the other begins as well.

    Alike but for how fast the direction may turn, up to the last one on which limits are imposed.
    """
    limited = [k for k, name in enumerate(one.sequence.names) if name in one.limited_arcs]
    barring = one.least_violation_anywhere is not None and limited
    return bool(barring) and _begin_alike(one, other, limited[-1] + 1)


def _begin_alike(one: Attempt, other: Attempt, through: int) -> bool:
    """Whether so many arcs are the same, but for how fast the direction may turn."""
    first, second = (
        [replace(arc, kind=replace(arc.kind, direction_is_state=False)) for arc in arcs]
        for arcs in (one.sequence.arcs[:through], other.sequence.arcs[:through])
    )
    return first == second


def _is_open(attempt: Attempt) -> bool:
    """Whether it reaches the orbit, and nobody knows yet what it does within the limits."""
    return attempt.reached and not attempt.keeps_limits


def _may_be_best(attempt: Attempt, done: list[Attempt]) -> bool:
    """Whether it reaches the orbit, and within the limits may be better than all that are done."""
    best = max((one.unspent for one in done if one.keeps_limits), default=-np.inf)
    return _is_open(attempt) and attempt.unspent > best


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

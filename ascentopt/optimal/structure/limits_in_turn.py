"""Limits on loads imposed on every attempt that may be best, and on what falls short."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.solve.ways_within_limits import (
    impose_limits_by_relaxation,
    impose_limits_by_splicing,
    impose_limits_directly,
    overloaded_fixed_thrust_arcs,
    shortfall_within_limits,
    with_start_within_limits,
)
from ascentopt.optimal.task import Task


def limits_imposed_in_turn(task: Task, attempts: list[Attempt]) -> AttemptsInTurn[list[Attempt]]:
    """All attempts as they stand after each that is done; at the end, and returned, the best first.

    Limits only cost propellant. An attempt that has less left without them than another has within
    them is beaten as it stands.
    """
    changes: list[_Change] = []
    for change in _finished_in_turn(task, attempts):
        changes.append(change)
        finished = [one.before for one in changes]
        yield [*(one.after for one in changes), *(a for a in attempts if a not in finished)]
    done = [change.after for change in changes]
    for k, change in enumerate(changes):
        if change.lost:
            again = _from_the_best(task, change.before, best_first(done)[0])
            done = done if again is None else [*done[:k], again, *done[k + 1 :]]
            yield done
    last = best_first(done)
    yield last
    return last


@dataclass(frozen=True, eq=False)
class _Change:
    """An attempt before limits were imposed, and what became of it."""

    before: Attempt
    after: Attempt

    @classmethod
    def of(cls, before: Attempt, found: Attempt) -> _Change:
        """Where it is lost, what it did without the limits is kept in mind."""
        plain = cls(before, found)
        if not plain.lost:
            return plain
        return cls(before, replace(found, unspent_without_limits=before.unspent))

    @property
    def lost(self) -> bool:
        """Whether it reached the orbit without the limits, and was not brought within them."""
        return _limits_not_imposed_yet(self.before) and not self.after.keeps_limits


def _finished_in_turn(task: Task, attempts: list[Attempt]) -> Iterator[_Change]:
    """What becomes of each attempt within the limits."""
    waiting = sorted(attempts, key=lambda attempt: -attempt.unspent)
    done: list[Attempt] = []
    while waiting:
        for change in _first_finished(task, waiting, done):
            waiting = [one for one in waiting if one is not change.before]
            done = [*done, change.after]
            yield change


def _first_finished(task: Task, waiting: list[Attempt], done: list[Attempt]) -> Iterator[_Change]:
    """What becomes of the first that waits, and before it of a simpler one if that leads there."""
    attempt, *others = waiting
    if not _may_be_best(attempt, done):
        yield _Change.of(attempt, attempt)
        return
    found = _impose_directly_unless_barred(task, attempt, done)
    simpler = _simpler(task, attempt, others) if _limits_not_imposed_yet(found) else None
    if simpler is not None:
        first = _Change.of(simpler, impose_limits_by_relaxation(task, simpler))
        yield first
        found = _after_simpler(task, found, [*done, first.after])
    if _limits_not_imposed_yet(found):
        found = impose_limits_by_relaxation(task, found)
    if _limits_not_imposed_yet(attempt):
        found = with_start_within_limits(task, found, attempt)
    yield _Change.of(attempt, found)


def _from_the_best(task: Task, attempt: Attempt, best: Attempt) -> Attempt | None:
    """An attempt that was lost within the limits, begun as the best flight; None where that fails.

    Only what promises more than the best, and has the same arcs up to where its limits press.
    """
    arcs = _arcs_up_to_last_limited(best)
    if not best.keeps_limits or attempt.unspent <= best.unspent or arcs == 0:
        return None
    if attempt.plan == best.plan or not _begins_alike(best, attempt, arcs):
        return None
    found = impose_limits_by_splicing(task, attempt, best, arcs)
    return found if found.keeps_limits else None


def _impose_directly_unless_barred(task: Task, attempt: Attempt, done: list[Attempt]) -> Attempt:
    """The attempt within the limits where that is easy, or barred by one that is done."""
    barrier = _barred_by(attempt, done)
    return (
        impose_limits_directly(task, attempt)
        if barrier is None
        else _marked_as_barred(attempt, barrier)
    )


def _after_simpler(task: Task, attempt: Attempt, done: list[Attempt]) -> Attempt:
    """The attempt, after one with fewer arcs has been done: barred as well, or begun as that."""
    barrier, first = _barred_by(attempt, done), done[-1]
    if barrier is not None:
        return _marked_as_barred(attempt, barrier)
    arcs = _arcs_up_to_last_limited(first)
    usable = first.keeps_limits and arcs > 0 and _begins_alike(first, attempt, arcs)
    return impose_limits_by_splicing(task, attempt, first, arcs) if usable else attempt


def _arcs_up_to_last_limited(attempt: Attempt) -> int:
    """Number of arcs up to the last one on which limits are imposed."""
    names = attempt.sequence.names
    return max((1 + k for k, name in enumerate(names) if name in attempt.limited_arcs), default=0)


def _may_be_best(attempt: Attempt, done: list[Attempt]) -> bool:
    """Whether it is open, and within the limits may be better than all that are done."""
    best = max((one.unspent for one in done if one.keeps_limits), default=-np.inf)
    return _limits_not_imposed_yet(attempt) and attempt.unspent > best


def _limits_not_imposed_yet(attempt: Attempt) -> bool:
    """Whether it reaches the orbit, and nobody knows yet what it does within the limits."""
    return attempt.reached and not attempt.keeps_limits


def _simpler(task: Task, attempt: Attempt, others: list[Attempt]) -> Attempt | None:
    """One with fewer arcs, and the same ones to where limits press on a thrust that is fixed.

    It is solved within them much sooner: what wanders while they tighten is the rest of the flight.
    """
    pressed = overloaded_fixed_thrust_arcs(task, attempt)
    if not pressed:
        return None
    through = 1 + max(attempt.sequence.names.index(name) for name in pressed)
    alike = [
        one
        for one in others
        if _limits_not_imposed_yet(one)
        and len(one.sequence.arcs) < len(attempt.sequence.arcs)
        and _begins_alike(one, attempt, through)
    ]
    return min(alike, key=lambda one: len(one.sequence.arcs), default=None)


def _begins_alike(one: Attempt, other: Attempt, through: int) -> bool:
    """Whether so many arcs are the same, but for how fast the direction may turn."""
    first, second = (
        [
            replace(arc, kind=replace(arc.kind, direction_is_state=False))
            for arc in attempt.sequence.arcs
        ]
        for attempt in (one, other)
    )
    return first[:through] == second[:through]


def _barred_by(attempt: Attempt, done: list[Attempt]) -> Attempt | None:
    """One that no flight brings through arcs with which this attempt begins as well."""
    for one in done:
        if one.least_violation_anywhere is None:
            continue
        if _begins_alike(one, attempt, _arcs_up_to_last_limited(one)):
            return one
    return None


def _marked_as_barred(attempt: Attempt, barrier: Attempt) -> Attempt:
    """The attempt that another one says all about."""
    line = (
        f"limits not imposed: it begins as {barrier.plan}, which no flight brings through the same "
        "arcs within them, wherever it ends"
    )
    return replace(attempt, solution=None, shortfall=None, history=(*attempt.history, line))


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

"""Limits on loads imposed on every attempt that may be best, and second looks where none flies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.overdraft import may_be_close
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structures import free


def limited(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Impose the limits on loads, the most promising attempt first; the best comes first.

    ``attempts`` are replaced by how far they come.

    Limits only cost propellant. An attempt that has less left without them than another has within
    them is beaten as it stands.
    """
    waiting = sorted(attempts, key=lambda attempt: -attempt.unspent)
    done: list[Attempt] = []
    for attempt in waiting:
        best = max((one.unspent for one in done if one.limited), default=-np.inf)
        promising = attempt.reached and not attempt.limited and attempt.unspent > best
        barrier = _barred_by(attempt, done)
        if promising and barrier is not None:
            done.append(_shut_out(attempt, barrier))
        else:
            done.append(solving.within_limits(attempt) if promising else attempt)
        attempts[attempts.index(attempt)] = done[-1]
    return ordered(done)


def _barred_by(attempt: Attempt, done: list[Attempt]) -> Attempt | None:
    """One that no flight brings through arcs with which this attempt begins as well."""
    for one in done:
        if one.barred is None:
            continue
        names = one.sequence.names
        through = 1 + max(k for k, name in enumerate(names) if name in one.watched)
        if one.sequence.arcs[:through] == attempt.sequence.arcs[:through]:
            return one
    return None


def _shut_out(attempt: Attempt, barrier: Attempt) -> Attempt:
    """The attempt that another one says all about."""
    line = (
        f"limits not imposed: it begins as {barrier.plan}, which no flight brings through the same "
        "arcs within them, wherever it ends"
    )
    return replace(attempt, solution=None, shortfall=None, history=(*attempt.history, line))


def ordered(attempts: list[Attempt]) -> list[Attempt]:
    """Those within the limits first, the one with most left at the top."""
    return sorted(attempts, key=lambda attempt: (not attempt.limited, -attempt.unspent))


def looked_into(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Attempts of which none flies, each with what a tank that may be overdrawn says to it."""
    known = [one.shortfall for one in attempts if one.shortfall]
    done = [one for one in attempts if one.barred is not None]
    if done and all(one.skipped or _barred_by(one, done) for one in attempts):
        return attempts  # the double is as heavy: it strains the limits in the same arcs as much
    if not may_be_close(solving.vehicle, known):
        return attempts
    seen: list[Attempt] = []
    free(solving.double, seen, len(solving.vehicle.stages) - 1)
    settled = [
        one if one.held else solving.settled(one, _twin(one, seen)) for one in attempts
    ]
    return ordered(settled)


def held(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Attempts of which none flies, the one that comes nearest within the limits on loads.

    Limits only cost speed: those that lack more without them need not be looked into.
    """
    done = list(attempts)
    for _ in attempts:
        short = [one for one in done if one.nearest is not None and one.shortfall is not None]
        nearest = min(short, key=lambda one: one.shortfall or 0.0, default=None)
        if nearest is None or nearest.held or nearest.shortfall == 0.0:
            break
        within = solving.held(nearest)
        done[done.index(nearest)] = within
        if not within.held:
            break
    return ordered(done)


def _twin(attempt: Attempt, seen: list[Attempt]) -> Attempt | None:
    """The double's attempt at the same burns and coasts, where it flies; None where none does."""
    for one in seen:
        if one.reached and replace(one.plan, fairing_arc=attempt.plan.fairing_arc) == attempt.plan:
            return one
    return None

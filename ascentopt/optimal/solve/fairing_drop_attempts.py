"""Attempts with the fairing dropped in another arc than the guess has it dropped in."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import InitialGuess
from ascentopt.optimal.solve.flown_start import FlownStart, starts
from ascentopt.optimal.solve.ladder import REACHED
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.switching.fairing_drop import earlier_burn_worth_dropping_in
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved

NEAR_MISS = 100.0
"""m/s that another start may make up: two local optima of one structure, or two places for the
fairing's drop, differ by as much."""


def dropped_elsewhere(task: Task, attempt: Attempt) -> Attempt:
    """The fairing dropped in the burn before or after if that is better: tried for a near miss.

    A steeper flight that drops it early and a flatter one that drops it late are both the best
    of their kind, and neither presses against the end of its arc. A flight that arrives tries
    the burn before if its costates promise something.
    """
    best, lines = attempt, attempt.history
    for arc in _other_places(task, attempt):
        other = dropped_in(task, attempt, arc, lines)
        best, lines = max(best, other, key=lambda one: one.rank), other.history
        if best.reached:
            break
    return replace(best, history=lines)


def _other_places(task: Task, attempt: Attempt) -> tuple[str, ...]:
    if attempt.reached:
        earlier = earlier_burn_worth_dropping_in(attempt, task.vehicle.fairing)
        return () if earlier is None else (earlier,)
    near = attempt.shortfall is not None and REACHED < attempt.shortfall < NEAR_MISS
    return attempt.arcs_beside_the_drop() if near else ()


def dropped_in(task: Task, attempt: Attempt, arc: str, lines: tuple[str, ...]) -> Attempt:
    """The same burns and coasts from the first guess, with the fairing's drop in an arc."""
    plan = replace(attempt.plan, fairing_arc=arc)
    told = (*lines, f"fairing drop tried in {arc!r}")
    return FlownStart.flown(task, plan, starts(plan)[0], told).solve()


def with_drop_moved_while_it_pays(task: Task, attempt: Attempt, start: InitialGuess) -> Attempt:
    """Move the fairing's drop to a neighbouring arc as long as that pays.

    From the flight itself, told anew, and where that leads nowhere from a guess; not in haste.
    """
    for _ in attempt.sequence.arcs:
        arc = attempt.arc_for_the_fairing()
        if arc is None:
            break
        moved = _with_drop_moved(task, attempt, arc)
        other = moved if moved is not None and moved.rank > attempt.rank else None
        if other is None and task.hasty:
            break
        if other is None:
            lines = attempt.history if moved is None else moved.history
            plan = replace(attempt.plan, fairing_arc=arc)
            told = (*lines, f"fairing drop moved to {arc!r}, from a guess")
            other = FlownStart.flown(task, plan, start, told).solve()
        if other.rank <= attempt.rank:
            return replace(attempt, history=(*other.history, "moved back"))
        attempt = other
    return attempt


def _with_drop_moved(task: Task, attempt: Attempt, arc: str) -> Attempt | None:
    """From the flight of an attempt, the fairing dropped in another arc; None if it cannot."""
    flight, fairing = attempt.best_known_flight, task.vehicle.fairing
    if flight is None or fairing is None:
        return None
    plan = replace(attempt.plan, fairing_arc=arc)
    sequence = task.arcs_of(plan)
    told = with_drop_moved(flight, attempt.sequence, sequence, fairing.mass)
    if told is None:
        return None
    lines = (*attempt.history, f"fairing drop moved to {arc!r}")
    solver = StructureSolver.begun_from(attempt, task, plan, told.meshes, lines)
    if attempt.reached:
        return solver.solve_from_flight_at_hand(told.guess)
    return solver.solve_without_load_limits(told.guess)

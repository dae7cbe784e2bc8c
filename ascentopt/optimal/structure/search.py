"""The search over structures: by moves from the best flight, and second starts of what is open."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import suppress

from ascentopt.errors import InputError
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import BRIEF
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.moves.empty_arcs import simplifications
from ascentopt.optimal.moves.move import arcs_of
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess, begins_by_a_transfer
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.census import SETTLED_BY, open_attempts
from ascentopt.optimal.structure.limits_in_turn import best_first
from ascentopt.optimal.structure.search_by_moves import (
    BETTER,
    SearchResult,
    moves_in_turn,
    possible_moves,
    solve_move,
)
from ascentopt.optimal.task import Task
from ascentopt.world.gravity import surface_time_scale


def search_from(
    task: Task, attempts: list[Attempt], settled: Collection[FlightPlan] = ()
) -> AttemptsInTurn[tuple[SearchResult, list[Attempt]]]:
    """The search by moves from the first attempt, and all attempts then, the best one first.

    Plans that are ``settled`` are not solved for from it.

    What is still unsolved is begun once more from a flight a move away; where that is better, the
    search goes on from there.
    """
    search = yield from _beside(
        moves_in_turn(task, attempts[0], settled=settled), attempts[1:]
    )
    others = best_first([*search.others, *attempts[1:]])
    again = [*_second_starts(task, search.best, others), *_other_optima(task, search.best)]
    least = search.best.unspent + BETTER * task.vehicle.propellant_mass
    new = [one for one in again if one not in others and one.keeps_limits and one.unspent > least]
    if not new:
        return search, [search.best, *best_first(again)]
    found = best_first(new)[0]
    left = [one for one in (search.best, *again) if one is not found]
    onward = yield from _beside(moves_in_turn(task, found), left)
    return onward, [onward.best, *best_first([*onward.others, *left])]


def _beside(
    steps: AttemptsInTurn[SearchResult], others: list[Attempt]
) -> AttemptsInTurn[SearchResult]:
    """A search that leaves others as they are."""
    while True:
        try:
            found = next(steps)
        except StopIteration as end:
            result: SearchResult = end.value
            return result
        yield [*found, *others]


def _second_starts(task: Task, best: Attempt, others: list[Attempt]) -> Iterator[Attempt]:
    """The others, the open ones as their second start leaves them, if there is any."""
    unsolved = open_attempts(best, others, SETTLED_BY * task.vehicle.propellant_mass)
    flights = [one for one in best_first([best, *others]) if one.reached]
    for one in others:
        again = _from_a_move_away(task, one, flights) if one in unsolved else None
        yield one if again is None or not again.reached else again


def _other_optima(task: Task, best: Attempt) -> Iterator[Attempt]:
    """The best structure from a flown guess, where it was begun by a transfer.

    Half a revolution and a coast up to the orbit are two optima of one structure, and each start
    leads to the nearer one.
    """
    if not begins_by_a_transfer(task, best.plan) or task.hasty:
        return
    begun = attempt_from_first_guess(task, best.plan)
    least = best.unspent + BETTER * task.vehicle.propellant_mass
    if begun.reached and begun.unspent > least:
        found = impose_limits(task, begun)
        if found.flies and found.unspent > least:
            yield found


def _from_a_move_away(task: Task, attempt: Attempt, flights: list[Attempt]) -> Attempt | None:
    """The structure of an attempt from the best flight that a move turns into it."""
    case = task.case
    for flight in flights:
        for move, sequence in possible_moves(case, flight):
            if move.plan.structure == attempt.plan.structure:
                return solve_move(task, flight, move, sequence)
    return None


def without_brief_arcs(task: Task, attempt: Attempt, known: list[Attempt]) -> Iterator[Attempt]:
    """A flight without a burn or coast that is brief, where no such structure is known.

    On a coarse mesh a last burn of a second may seem to pay, and shrink to nothing, whichever way
    it points, on every finer one.
    """
    case, plans = task.case, {one.plan.structure for one in known}
    brief = BRIEF * surface_time_scale(task.mission.body)
    for move in simplifications(case, attempt, brief):
        if move.plan.structure in plans:
            continue
        with suppress(InputError):
            found = solve_move(task, attempt, move, arcs_of(case, move.plan))
            if found is not None and found.reached:
                yield found

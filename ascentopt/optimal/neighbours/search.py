"""The search from a neighbour's solution."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.flight.simulation.preload import integrators_preloaded
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.neighbours.neighbour import Neighbour
from ascentopt.optimal.neighbours.rivals import Rivals
from ascentopt.optimal.optimum import Optimum, structures_compared
from ascentopt.optimal.result.assembly import ascent_of, confirmed
from ascentopt.optimal.result.closed_loop import close_loop
from ascentopt.optimal.result.place_on_orbit import ended_where_best
from ascentopt.optimal.solve.from_neighbour import solve_from_neighbour
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.optimal.structure.search import search_from
from ascentopt.optimal.task import Task


def solve_near(task: Task, near: Neighbour) -> AttemptsInTurn[Optimum | None]:
    """The optimum from a neighbour's solution, beside the structures that may have become better.

    None where nothing flies so.
    """
    warm = solve_from_neighbour(task, near.attempt)
    yield [warm]
    with integrators_preloaded():
        attempts = yield from limits_imposed_in_turn(task, [warm])
        if attempts[0].flies:
            return (yield from _best_of_neighbours(task, attempts[0], near))
    return None


def _best_of_neighbours(task: Task, warm: Attempt, near: Neighbour) -> AttemptsInTurn[Optimum]:
    """The optimum, from the flight of a neighbour's structure within the limits."""
    rivals = Rivals(near=near, best=warm, task=task)
    attempts = [warm]
    for one in rivals.to_solve:
        attempts += rivals.solved(one, attempts)
        yield attempts
    attempts = rivals.best_first((yield from limits_imposed_in_turn(task, attempts)))
    settled = [*(one.plan for one in rivals.beaten), *(one.plan for one in attempts)]
    search, attempts = yield from search_from(task, attempts, settled)
    attempts = [ended_where_best(task, search.best), *attempts[1:]]
    yield attempts
    best, beaten = best_refined(task, attempts)
    yield [best, *beaten]
    arrival = close_loop(task, best)
    told = replace(search, left_out=(*search.left_out, *rivals.told()))
    compared = structures_compared(task, arrival.attempt, beaten, attempts, told)
    finer = rivals.finer if best.plan == warm.plan else compared.finer
    compared = replace(compared, finer=finer, elsewhere=rivals.beaten)
    return Optimum(confirmed(ascent_of(task, arrival, compared)), arrival.attempt)

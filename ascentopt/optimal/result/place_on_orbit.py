"""Where on its orbit a flight ends, looked for all the way round.

With the periapsis placed and a burn to spare a flight may burn into its orbit where that is best,
and end anywhere further on. The bulge of the equator changes the osculating orbit twice in each
revolution, by some m/s, and the last burn makes up for it: the mass has a maximum at more than one
place, and which of them a start leads to hangs on rounding. Held in one place after another the
flight takes 4 to 10 iterations each, from the last one's multipliers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import pi

from ascentopt.collocation import NotConverged, Problem, Solution
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.target.ellipse import (
    ANOMALY,
    given_argument_of_periapsis,
    with_place_held,
)
from ascentopt.optimal.solve.ladder import Ladder
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.structure.search_by_moves import BETTER
from ascentopt.optimal.task import WARM_ITERATIONS, Task

STEPS = 18
"""Places in a revolution: nine for each maximum that the bulge makes."""

FAR_WORSE = 0.01
"""Share of the mass that a place may cost, after which no better one is looked for beyond it: ten
times and more what the bulge brings."""


def ended_where_best(task: Task, attempt: Attempt) -> Attempt:
    """The attempt, within its limits, ended where on its orbit that costs least.

    It stands where the place is not in question, or no better one is found.
    """
    if not _may_end_anywhere(task, attempt):
        return attempt
    start, problem = attempt.found, attempt.found.problem
    best = max(_all_round(task, problem, start), key=lambda one: one.objective)
    worth = BETTER * abs(start.objective)
    if best.objective <= start.objective + worth:
        return attempt
    ladder = Ladder(task, attempt.history)
    try:
        released = replace(best, problem=problem)
        found = ladder.solve_on_record("ended elsewhere", problem, released, task.settings)
    except NotConverged:
        return attempt
    moved = replace(attempt, solution=found, history=ladder.history)
    broken = LimitedSolver.resumed(task, moved).overloaded_arcs(found) - attempt.limited_arcs
    return attempt if broken or found.objective <= start.objective + worth else moved


def _may_end_anywhere(task: Task, attempt: Attempt) -> bool:
    """Whether a burn is to spare, the periapsis placed, and the bulge of some size."""
    coasts = sum(arc.free_coast for arc in attempt.sequence.arcs)
    placed = given_argument_of_periapsis(task.mission) is not None
    return attempt.reached and placed and coasts > 1 and task.mission.body.j2 != 0.0


def _all_round(task: Task, problem: Problem, start: Solution) -> Iterator[Solution]:
    """The flight, and those that end elsewhere, a revolution up and down."""
    yield start
    for step in (2.0 * pi / STEPS, -2.0 * pi / STEPS):
        last = start
        for _ in range(STEPS):
            further = _ended_further(task, problem, last, step)
            if further is None or further.objective < (1.0 - FAR_WORSE) * start.objective:
                break
            last = further
            yield last


def _ended_further(task: Task, problem: Problem, flight: Solution, step: float) -> Solution | None:
    """The best flight that ends so many rad further on; None where that is not solved."""
    free = flight.free.copy()
    free[[one.name for one in problem.free].index(ANOMALY)] += step
    fixed = with_place_held(problem, free)
    if fixed is None:
        return None
    settings = replace(task.settings, iterations=WARM_ITERATIONS)
    try:
        there = replace(flight, free=free, problem=fixed)
        return Ladder(task, ()).solve_on_record("held in a place", fixed, there, settings)
    except NotConverged:
        return None

"""A plan that leads the flight: solved again for an end that brings the flight into the orbit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.collocation import NotConverged, Problem, Solution, as_iterate_of, refine
from ascentopt.collocation.mesh.radau import Array
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.transcription import led_by
from ascentopt.optimal.solve.refine import with_narrow_corners
from ascentopt.optimal.task import WARM_ITERATIONS, Task
from ascentopt.progress import TimeIsUp
from ascentopt.world.gravity import surface_time_scale

HELD = 1e-3
"""rad round a low orbit by which a coast's length may change while the plan leads the flight. Where
an orbit leaves its plane or apsides free, coasts of any length may cost the same to a millionth:
the plan would wander hundreds of seconds along that valley, and miss by something else each time.
The miss turns with the place of the insertion, so this leaves a thousandth of it."""


def correct_terminal_target(
    task: Task, attempt: Attempt, miss: Array, *, hold_coasts: bool
) -> Attempt:
    """Solve again so that a flight that misses the plan by ``miss`` (6,) ends in the orbit.

    With coasts as long as they are, if so asked, or as long as they are best. The attempt keeps its
    solution where the program so changed is not solved.
    """
    problem = led_by(attempt.found.problem, miss)
    problem = _with_coasts_held(problem, task, attempt) if hold_coasts else problem
    try:
        solution = _solved_for_target(task, problem, attempt.found)
    except TimeIsUp:
        line = "no time was left to let the plan lead the flight"
        return replace(attempt, history=(*attempt.history, line))
    except NotConverged as failure:
        line = f"plan could not lead the flight: {failure}"
        return replace(attempt, history=(*attempt.history, line))
    line = f"plan leads the flight by {np.linalg.norm(miss[:3]):.2f} m"
    # The corners have moved a little, perhaps into the interval next door.
    solution, wide = with_narrow_corners(solution, task.refinement, task.settings_in_time)
    solution = _let_go(solution, attempt.found.problem) if hold_coasts else solution
    return replace(attempt, solution=solution, history=(*attempt.history, line, *wide))


def _with_coasts_held(problem: Problem, task: Task, attempt: Attempt) -> Problem:
    """The problem with its free coasts as long as they are, all but."""
    by = HELD * surface_time_scale(task.mission.body)
    arcs = list(problem.arcs)
    for k, (arc, own) in enumerate(zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)):
        if arc.free_coast:
            (low, high), now = arcs[k].duration, own.duration
            arcs[k] = replace(arcs[k], duration=(max(low, now - by), min(high, now + by)))
    return replace(problem, arcs=tuple(arcs))


def _let_go(held: Solution, free: Problem) -> Solution:
    """What was solved with its coasts held, of the problem in which they are free.

    It stands at the optimum: what a bound so near was worth is noise, and no bound of the answer's.
    """
    arcs = (
        replace(arc, duration=own.duration)
        for arc, own in zip(held.problem.arcs, free.arcs, strict=True)
    )
    there = as_iterate_of(replace(held.problem, arcs=tuple(arcs)), held)
    return replace(there, outcome=held.outcome)


def _solved_for_target(task: Task, problem: Problem, found: Solution) -> Solution:
    """A problem in which only the lead has changed, from what was found without.

    A switch that moves into another interval wants that one refined as well. Where the direction
    turns as fast as it may the smallest barrier cannot move the ends of a turn, and creeps for 150
    iterations: the trajectory alone takes 25.

    Raises:
        NotConverged: as the solver.
        TimeIsUp: when no time is left.
    """
    brief = task.settings_in_time().given_up_after(WARM_ITERATIONS)
    try:
        return refine(problem, found, task.refinement, brief)
    except NotConverged:
        pass
    return refine(problem, found.as_guess(), task.refinement, task.settings_in_time())

"""A mesh that the solver does not follow with its multipliers is taken up from the trajectory."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from ascentopt.collocation import SolverSettings
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, task_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import is_fine_enough, refined_with_retries
from tests.optimal.launchers import lander, moon_mission

EFFORT = Effort()


def coarse() -> Attempt:
    task = task_of(lander(), moon_mission())
    return attempt_at(task, direct(task.vehicle))


def in_turn(*given: SolverSettings) -> Callable[[], SolverSettings]:
    """These settings, one for each call, the last for all further ones."""
    left: Iterator[SolverSettings] = iter(given)
    return lambda: next(left, given[-1])


def test_a_mesh_that_fails_with_multipliers_is_solved_without() -> None:
    found, rule = coarse().found, EFFORT.refinement
    assert not is_fine_enough(found, rule)
    hasty = replace(EFFORT.settings, iterations=1)
    solution, lines = refined_with_retries(found, rule, in_turn(hasty, EFFORT.settings))
    assert is_fine_enough(solution, rule)
    assert lines[0].startswith("refinement: ")
    assert lines[1] == "refinement once more, without multipliers"
    straight, nothing = refined_with_retries(found, rule, lambda: EFFORT.settings)
    assert nothing == ()
    assert abs(solution.objective - straight.objective) < 0.01


def test_where_that_fails_too_the_last_mesh_solved_stands_and_both_failures_are_told() -> None:
    found, rule = coarse().found, EFFORT.refinement
    hasty = replace(EFFORT.settings, iterations=1)
    solution, lines = refined_with_retries(found, rule, lambda: hasty)
    assert solution is found
    assert len(lines) == 2
    assert "without multipliers: " in lines[1]

"""Solves that are asked for again."""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.collocation import RememberedSolves, SolverSettings, solve
from ascentopt.collocation.solution import Outcome, Raw
from tests.collocation.problems import straight_line
from tests.collocation.test_goddard import FREE_INSTANTS, FREE_STATES, normalised


def test_a_solve_that_is_remembered_is_the_same_and_takes_no_time() -> None:
    remembered, problem = RememberedSolves(), normalised()
    start = straight_line(problem, FREE_INSTANTS, FREE_STATES, [[], [], []])
    first = solve(problem, start, SolverSettings(), remembered)
    # With no time left a new run would end at once.
    again = solve(problem, start, SolverSettings(time_limit=1e-9), remembered)
    assert again.solved
    assert again.iterations == first.iterations
    assert np.array_equal(again.raw.x, first.raw.x)


@pytest.mark.parametrize("outcome", [Outcome.TIME, Outcome.INTERRUPTED])
def test_what_was_cut_short_is_tried_again(outcome: Outcome) -> None:
    nothing = Raw(*(np.zeros(1),) * 4)
    runs = iter([(nothing, outcome, 3), (nothing, Outcome.SOLVED, 9)])
    remembered, numbers = RememberedSolves(), (np.ones(2),)
    assert remembered.run("program", 50, numbers, lambda: next(runs))[1] is outcome
    assert remembered.run("program", 50, numbers, lambda: next(runs))[1] is Outcome.SOLVED
    assert remembered.run("program", 50, numbers, lambda: next(runs))[2] == 9


def test_a_last_bit_makes_another_solve() -> None:
    nothing = Raw(*(np.zeros(1),) * 4)
    remembered, counted = RememberedSolves(), iter(range(9))
    for value in (1.0, np.nextafter(1.0, 2.0), 1.0):
        found = remembered.run(
            "program", 50, (np.array([value]),), lambda: (nothing, Outcome.SOLVED, next(counted))
        )
    assert found[2] == 0
    assert next(counted) == 2


def test_what_is_solved_in_few_iterations_is_solved_where_more_are_allowed() -> None:
    nothing = Raw(*(np.zeros(1),) * 4)
    remembered, numbers = RememberedSolves(), (np.ones(2),)
    remembered.run("program", 40, numbers, lambda: (nothing, Outcome.SOLVED, 30))

    def again() -> tuple[Raw, Outcome, int]:
        return nothing, Outcome.ITERATIONS, 20

    assert remembered.run("program", 70, numbers, again)[2] == 30
    assert remembered.run("program", 20, numbers, again)[1] is Outcome.ITERATIONS


def test_what_is_not_solved_in_few_iterations_is_tried_with_more() -> None:
    nothing = Raw(*(np.zeros(1),) * 4)
    remembered, numbers = RememberedSolves(), (np.ones(2),)
    remembered.run("program", 40, numbers, lambda: (nothing, Outcome.ITERATIONS, 40))
    more = remembered.run("program", 70, numbers, lambda: (nothing, Outcome.SOLVED, 60))
    assert more[1] is Outcome.SOLVED

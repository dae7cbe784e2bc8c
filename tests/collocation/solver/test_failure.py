"""How a solve that does not succeed says so: outcome, worst constraint, address of a bad number."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from dataclasses import replace

import casadi as ca
import numpy as np
import pytest

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Ends,
    Model,
    NotConverged,
    Objective,
    Outcome,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Solution,
    SolverSettings,
    solve,
)
from ascentopt.errors import InputError
from ascentopt.typing import Expr
from tests.collocation.problems import FinalEntry, ends_at, starts_at, straight_line
from tests.collocation.steering import COPS

STEERING = COPS.model()


def climb(longest: float = 10.0) -> Problem:
    problem = COPS.problem(STEERING, RadauMesh.uniform(intervals=4, degree=5))
    return replace(problem, arcs=(replace(problem.arcs[0], duration=(0.01, longest)),))


def failure(problem: Problem, settings: SolverSettings) -> NotConverged:
    with pytest.raises(NotConverged) as caught:
        solve(problem, COPS.guess(problem), settings)
    return caught.value


def test_a_problem_without_a_feasible_point_names_the_worst_constraint() -> None:
    # The least time is 0.5546: 0.3 cannot do.
    error = failure(climb(longest=0.3), SolverSettings())
    assert error.solution.outcome is Outcome.INFEASIBLE
    assert not error.solution.solved
    assert error.solution.residuals.primal > 1e-3
    text = str(error)
    assert text.startswith("No point near the guess meets the constraints; see which ones are")
    assert f"at {error.solution.residuals.worst};" in text
    assert error.solution.residuals.worst.split(" ")[0] in {"condition", "rate"}


def test_the_iteration_limit_gives_the_iterate() -> None:
    error = failure(climb(), SolverSettings(iterations=3))
    assert error.solution.outcome is Outcome.ITERATIONS
    assert error.solution.iterations == 3
    assert "The iteration limit was reached" in str(error)
    # Good enough to go on from.
    again = solve(climb(), error.solution)
    assert again.objective == pytest.approx(0.5545708783346, abs=1e-7)


def test_the_time_limit_gives_the_iterate() -> None:
    error = failure(climb(), SolverSettings(time_limit=1e-9))
    assert error.solution.outcome is Outcome.TIME
    assert np.all(np.isfinite(error.solution.arcs[0].states))


def decay(power: float) -> Model:
    """x' = -k (x - c)^power + u with a control; path value log x."""

    def rates(point: Point) -> list[Expr]:
        x, u = point.state[0], point.control
        base = x - point.parameter[0]
        return [-(base**power) + u, u**2]

    def path(point: Point) -> list[Expr]:
        return [ca.log(point.state[0] + 2.0)]

    return Model(
        name="decay",
        states=(Quantity("x", "m"), Quantity("w", "J")),
        controls=(Quantity("u", "m/s"),),
        rates=rates,
        path=(Quantity("level", "dB"),),
        path_values=path,
        parameters=("threshold",),
    )


ROOT = decay(0.5)


def decaying(model: Model, threshold: float, bounds: Bounds | None = None) -> Problem:
    arc = Arc(
        name="fall",
        model=model,
        mesh=RadauMesh.uniform(intervals=2, degree=2),
        parameters=(threshold,),
        duration=(2.0, 2.0),
        state_bounds=bounds,
    )
    return Problem(
        arcs=(arc,),
        conditions=(
            starts_at(model.states, (1.0, 0.0)),
            ends_at(model.states, 0, {0: 0.5}),
        ),
        objective=Objective(quantity=Quantity("w", "J"), expression=FinalEntry(1)),
    )


def refused(problem: Problem, states: list[list[float]], control: float = 0.25) -> str:
    with pytest.raises(InputError) as caught:
        solve(problem, straight_line(problem, [0.0, 2.0], states, [[control]]))
    return str(caught.value)


def test_a_rate_that_is_not_a_number_at_the_start_is_named_with_its_inputs() -> None:
    text = refused(decaying(ROOT, 0.8), [[1.0, 0.0], [0.5, 0.0]])
    # x falls from 1 to 0.5 along the guess and passes 0.8 at fraction 0.4: the third node is bad.
    assert text == (
        "Start: rate of x [m] in arc 'fall' at fraction 0.5000 is nan with time = 1 s, "
        "x = 0.75 m, w = 0 J, u = 0.25 m/s, threshold = 0.8. Values and first and second "
        "derivatives must be finite where the solver begins. Make the function smooth and finite "
        "there, or start elsewhere."
    )


def test_a_path_value_that_is_not_a_number_is_named() -> None:
    text = refused(decaying(decay(2.0), 0.0), [[-3.0, 0.0], [0.5, 0.0]])
    assert text.startswith("Start: limit level [dB] in arc 'fall' at fraction 0.1667 is nan with ")
    assert "x = -2.41667 m" in text


def test_a_derivative_that_is_infinite_is_named_where_the_value_is_not() -> None:
    # The root of zero is zero, its slope is not finite.
    text = refused(decaying(ROOT, 1.0), [[1.0, 0.0], [1.0, 0.0]])
    assert text.startswith(
        "Start: the derivative of rate of x [m] in arc 'fall' at fraction 0.1667 by x [m] in arc "
        "'fall' at fraction 0.1667 is "
    )
    assert "inf with time = 0.333333 s, x = 1 m" in text


def test_a_second_derivative_that_is_infinite_is_named() -> None:
    text = refused(decaying(decay(1.5), 1.0), [[1.0, 0.0], [1.0, 0.0]])
    assert text.startswith("Start: the second derivative by x [m] in arc 'fall' at fraction 0.1667")
    assert "with time = 0.333333 s, x = 1 m" in text


def test_a_guess_on_a_bound_is_looked_at_where_the_solver_moves_it() -> None:
    # The slope is infinite on the bound x = 0, where the guess lies, and finite inside.
    bounds = Bounds(lower=(0.0, -1.0), upper=(2.0, 9.0))
    problem = decaying(ROOT, 0.0, bounds)
    start = straight_line(problem, [0.0, 2.0], [[0.0, 0.0], [0.0, 0.0]], [[0.5]])
    assert solve(problem, start).arcs[0].states[-1, 0] == pytest.approx(0.5, abs=1e-7)


def inverse(ends: Ends) -> Expr:
    return 1.0 / ends.end[0][1]


def test_a_condition_and_an_objective_that_are_infinite_are_named() -> None:
    problem = decaying(decay(2.0), 0.0)
    bounds = Bounds(lower=(0.0,), upper=(1.0,))
    odd = Condition(quantities=(Quantity("inverse work"),), expression=inverse, bounds=bounds)
    text = refused(replace(problem, conditions=(odd,)), [[1.0, 0.0], [0.5, 0.0]])
    where = "with w [J] in arc 'fall' at fraction 1.0000 = 0."
    assert text.startswith(f"Start: condition inverse work is inf {where}")
    cost = Objective(quantity=Quantity("w"), expression=inverse)
    text = refused(replace(problem, objective=cost), [[1.0, 0.0], [0.5, 0.0]])
    assert text.startswith(f"Start: the objective is inf {where}")


def falling_rates(point: Point) -> list[Expr]:
    """Smooth above u = 1/2 alone: the second derivative below is 0 x infinity."""
    u = point.control
    return [u, u**2 + ca.fmax(u - 0.5, 0.0) ** 1.5]


KINKED = Model(
    name="kinked",
    states=(Quantity("x", "m"), Quantity("w", "J")),
    controls=(Quantity("u", "m/s"),),
    rates=falling_rates,
)


def test_a_number_that_turns_bad_on_the_way_is_named_at_the_iterate() -> None:
    arc = Arc(
        name="run", model=KINKED, mesh=RadauMesh.uniform(intervals=2, degree=2), duration=(2.0, 2.0)
    )
    problem = Problem(
        arcs=(arc,),
        conditions=(
            starts_at(KINKED.states, (0.0, 0.0)),
            ends_at(KINKED.states, 0, {0: 0.2}),
        ),
        objective=Objective(quantity=Quantity("w", "J"), expression=FinalEntry(1)),
    )
    start = straight_line(problem, [0.0, 2.0], [[0.0, 0.0], [2.0, 2.0]], [[1.0]])
    with pytest.raises(NotConverged) as caught:
        solve(problem, start)
    assert caught.value.solution.outcome is Outcome.NUMBERS
    assert "the second derivative by u [m/s] in arc 'run' at fraction" in str(caught.value)
    assert " is nan with time = " in str(caught.value)


INTERRUPTED = """
    import os, signal, threading
    from ascentopt.collocation import RadauMesh
    from ascentopt.collocation.solver import solver
    from ascentopt.errors import Interrupted
    from tests.collocation.steering import COPS

    # Whoever starts the tests in the background may have switched the key off.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    problem = COPS.problem(COPS.model(), RadauMesh.uniform(intervals=500, degree=8))
    own = solver._run

    def run(make, *arguments):
        make()
        # The key is pressed while the solver is at work, not while it is made.
        threading.Timer(0.05, os.kill, (os.getpid(), signal.SIGINT)).start()
        return own(make, *arguments)

    solver._run = run
    try:
        solver.solve(problem, COPS.guess(problem))
    except Interrupted as error:
        print(error.best.outcome.name, error.best.arcs[0].states.shape)
"""


def test_the_keyboard_gives_back_the_iterate() -> None:
    script = textwrap.dedent(INTERRUPTED)
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.split("\n")[0] == "INTERRUPTED (4001, 4)"


def test_the_error_carries_the_solution() -> None:
    error = failure(climb(), SolverSettings(iterations=3))
    assert isinstance(error.solution, Solution)
    assert error.detail == ""

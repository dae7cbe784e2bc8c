"""Our own measure of the optimality conditions, which does not ask the solver."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ascentopt.collocation import RadauMesh, Solution, SolverSettings, solve
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import limits
from ascentopt.collocation.solution import Raw, Residuals
from ascentopt.collocation.solver.readback import residuals
from tests.collocation import speed_limited
from tests.collocation.steering import COPS

MODEL = COPS.model()


def climb() -> Solution:
    problem = COPS.problem(MODEL, RadauMesh.uniform(intervals=4, degree=5))
    return solve(problem, COPS.guess(problem), SolverSettings(tolerance=1e-11))


def limited() -> Solution:
    problem = speed_limited.problem()
    return solve(problem, speed_limited.guess(problem), SolverSettings(tolerance=1e-11))


def measured(solution: Solution, raw: Raw) -> Residuals:
    program = build(solution.problem.structure())
    return residuals(solution.problem, program, limits(solution.problem, program.layout), raw)


def test_a_solution_meets_all_conditions() -> None:
    for solution in (climb(), limited()):
        own = solution.residuals
        assert own == measured(solution, solution.raw)
        assert own.primal < 1e-10
        assert own.dual < 1e-9
        assert own.complementarity < 1e-9


def test_a_moved_node_is_a_violation_with_its_address() -> None:
    solution = climb()
    layout = build(solution.problem.structure()).layout
    x = solution.raw.x.copy()
    x[layout.arcs[0].node_variables[7, 1]] += 1e-3  # y at the third node of the second interval
    own = measured(solution, replace(solution.raw, x=x))
    assert own.primal > 1e-3
    assert own.worst.startswith("rate of y [m] in arc 'climb' at fraction 0.")


def test_a_variable_outside_its_bounds_is_a_violation_with_its_address() -> None:
    solution = climb()
    layout = build(solution.problem.structure()).layout
    x = solution.raw.x.copy()
    x[layout.arcs[0].node_variables[7, 4]] = 1e4
    own = measured(solution, replace(solution.raw, x=x))
    assert own.primal == pytest.approx(1e4 - 1.6)
    fraction = solution.arcs[0].arc.mesh.fractions()[7]
    assert own.worst == f"u [rad] in arc 'climb' at fraction {fraction:.4f}"


def test_a_missed_end_is_a_violation_of_its_condition() -> None:
    solution = climb()
    bounds = limits(solution.problem, build(solution.problem.structure()).layout)
    program = build(solution.problem.structure())
    row = program.layout.condition_rows[5]
    moved = replace(bounds, lbg=bounds.lbg.copy(), ubg=bounds.ubg.copy())
    moved.lbg[row] += 0.25
    moved.ubg[row] += 0.25
    own = residuals(solution.problem, program, moved, solution.raw)
    assert own.primal == pytest.approx(0.25)
    assert own.worst == "condition vx [m/s]"


@pytest.mark.parametrize("factor", [0.0, -1.0, 1.1])
def test_stale_multipliers_do_not_pass(factor: float) -> None:
    solution = climb()
    raw = replace(solution.raw, lam_g=factor * solution.raw.lam_g)
    assert measured(solution, raw).dual > 1e-4


def test_a_multiplier_on_a_limit_that_does_not_hold_is_seen() -> None:
    solution = limited()
    layout = build(solution.problem.structure()).layout
    lam_g = solution.raw.lam_g.copy()
    lam_g[layout.arcs[0].node_rows[0, 3]] = 1.0  # at the first node the speed is far from 1.2
    own = measured(solution, replace(solution.raw, lam_g=lam_g))
    assert own.complementarity > 0.5


def test_a_multiplier_of_the_wrong_sign_is_seen() -> None:
    # Pulling from below at a limit that only has an upper bound: no slack to multiply with.
    solution = limited()
    layout = build(solution.problem.structure()).layout
    lam_g = solution.raw.lam_g.copy()
    lam_g[layout.arcs[0].node_rows[6, 3]] = -1.0
    own = measured(solution, replace(solution.raw, lam_g=lam_g))
    assert max(own.complementarity, own.dual) > 0.5


def test_numbers_that_are_not_finite_are_infinite_residuals() -> None:
    solution = climb()
    x = solution.raw.x.copy()
    x[build(solution.problem.structure()).layout.arcs[0].node_variables[7, 4]] = np.nan
    own = measured(solution, replace(solution.raw, x=x))
    assert own.primal == np.inf
    assert own.dual == np.inf

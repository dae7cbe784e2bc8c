"""Observed orders: an initial-value problem and an optimal control problem with known answers."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest

from ascentopt.collocation import (
    Arc,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    SolverSettings,
    solve,
)
from ascentopt.collocation.refinement.refinement import continuous_errors
from ascentopt.typing import Expr
from tests.collocation import regulator
from tests.collocation.problems import FinalEntry, quantities, starts_at, straight_line

TIGHT = SolverSettings(tolerance=1e-13)


def rates(point: Point) -> Expr:
    return point.state * ca.cos(point.time)


GROWTH = Model(name="growth", states=quantities("x"), rates=rates)


def growth_error(intervals: int, degree: int) -> float:
    """Error of x(2) for x' = x cos t, x(0) = 1, whose solution is exp(sin t)."""
    mesh = RadauMesh.uniform(intervals=intervals, degree=degree)
    problem = Problem(
        arcs=(Arc(name="growth", model=GROWTH, mesh=mesh, duration=(2.0, 2.0)),),
        conditions=(starts_at(GROWTH.states, (1.0,)),),
        objective=Objective(quantity=Quantity("x"), expression=FinalEntry(0)),
    )
    start = straight_line(problem, [0.0, 2.0], [[1.0], [1.0]], [[]])
    return abs(solve(problem, start, TIGHT).objective - float(np.exp(np.sin(2.0))))


def order(coarse: float, fine: float) -> float:
    return float(np.log2(coarse / fine))


@pytest.mark.parametrize(("degree", "intervals"), [(1, 128), (2, 16), (3, 8), (4, 4)])
def test_end_value_converges_with_order_2d_minus_1(degree: int, intervals: int) -> None:
    # Hairer & Wanner, sec. IV.5: the Radau IIA method of d stages has order 2 d - 1.
    errors = [growth_error(n, degree) for n in (intervals, 2 * intervals)]
    assert order(*errors) == pytest.approx(2 * degree - 1, abs=0.35)


def test_end_value_converges_spectrally_with_the_degree() -> None:
    errors = [growth_error(1, degree) for degree in (3, 6, 9)]
    ratios = np.array(errors[:-1]) / np.array(errors[1:])
    assert np.all(ratios > 300.0)  # measured 625 and 95000
    assert growth_error(1, 12) < 1e-13


def regulator_errors(intervals: int, degree: int) -> tuple[float, float, float]:
    """Errors of cost, states at nodes and costates at nodes."""
    problem = regulator.problem(RadauMesh.uniform(intervals=intervals, degree=degree))
    solution = solve(problem, regulator.guess(problem), TIGHT)
    arc = solution.arcs[0]
    state = np.abs(arc.states[:, 0] - regulator.state(arc.times)).max()
    costate = np.abs(arc.costates[:, 0] - regulator.costate(arc.times)).max()
    return abs(solution.objective - regulator.COST), float(state), float(costate)


@pytest.mark.parametrize(("degree", "intervals"), [(1, 64), (2, 16), (3, 4)])
def test_optimal_cost_converges_with_order_2d_minus_1(degree: int, intervals: int) -> None:
    coarse, fine = (regulator_errors(n, degree)[0] for n in (intervals, 2 * intervals))
    assert order(coarse, fine) == pytest.approx(2 * degree - 1, abs=0.35)


@pytest.mark.parametrize(("degree", "intervals"), [(1, 64), (2, 16), (3, 8)])
def test_states_and_costates_inside_the_intervals_converge(degree: int, intervals: int) -> None:
    # At interior nodes a state has the stage order d + 1 (d = 1 has end points only), a costate d.
    coarse, fine = (regulator_errors(n, degree)[1:] for n in (intervals, 2 * intervals))
    assert order(coarse[0], fine[0]) == pytest.approx(min(degree + 1, 2 * degree - 1), abs=0.2)
    assert order(coarse[1], fine[1]) == pytest.approx(degree, abs=0.2)


def test_cost_and_costates_converge_spectrally_with_the_degree() -> None:
    errors = np.array([regulator_errors(1, degree) for degree in (2, 4, 6, 8)])
    assert np.all(errors[:-1] / errors[1:] > 20.0)


@pytest.mark.parametrize("degree", [2, 3, 4])
def test_continuous_error_does_not_flatter(degree: int) -> None:
    # The truth is nearer than the measure says, by 6, 14 and 62 times here.
    problem = regulator.problem(RadauMesh.uniform(intervals=2, degree=degree))
    arc = solve(problem, regulator.guess(problem), TIGHT).arcs[0]
    fractions = np.linspace(0.0, 1.0, 101)
    truth = np.abs(arc.state_at(fractions)[:, 0] - regulator.state(fractions)).max()
    assert 1.0 < continuous_errors(arc).max() / truth < 100.0

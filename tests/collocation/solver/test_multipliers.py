"""Costates and multipliers in physical units: closed forms, re-solving, signs, joints."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Ends,
    Problem,
    RadauMesh,
    Solution,
    SolverSettings,
    solve,
)
from ascentopt.typing import Expr
from tests.collocation import speed_limited
from tests.collocation.problems import ends_at, joined, starts_at, straight_line
from tests.collocation.speed_limited import COST, DENSITY, LIMIT, SLOPE, Scales
from tests.collocation.steering import MOON

TIGHT = SolverSettings(tolerance=1e-11)
# At the nodes where the limit begins and ends both slack and multiplier vanish, so that an interior
# point is off by the square root of its barrier: 1e-13 here leaves 4e-6 of 38.4.
TIGHTEST = SolverSettings(tolerance=1e-13)
ODD = Scales(x=0.3, v=2.0, w=5.0, u=7.0, limit=0.4, time=0.6, conditions=3.0, objective=11.0)


def effort(scales: Scales, limit: float = LIMIT, *, maximise: bool = False) -> Solution:
    problem = speed_limited.problem(scales, limit, maximise=maximise)
    return solve(problem, speed_limited.guess(problem), TIGHTEST)


@pytest.mark.parametrize("maximise", [False, True])
@pytest.mark.parametrize("scales", [Scales(), ODD])
def test_speed_limited_costates_and_density(scales: Scales, *, maximise: bool) -> None:
    # Closed form in `speed_limited.py`. Costates belong to the cost, so that minimising the
    # effort and maximising its negative give the same ones.
    solution = effort(scales, maximise=maximise)
    assert solution.objective == pytest.approx(-COST if maximise else COST, abs=1e-8)
    arc = solution.arcs[0]
    ramps = 0.25 - arc.times, arc.times - 0.75
    u = 38.4 * (np.clip(ramps[0], 0.0, None) - np.clip(ramps[1], 0.0, None))
    expected = np.stack((np.full_like(u, -38.4), -u, np.ones_like(u)), axis=1)
    assert arc.costates == pytest.approx(expected, abs=1e-5)  # measured 1.3e-6 and 4.5e-6
    middle = (arc.times[1:] > 0.26) & (arc.times[1:] < 0.74)
    assert arc.path_multipliers[middle, 0] == pytest.approx(DENSITY, abs=2e-4)
    outside = (arc.times[1:] < 0.24) | (arc.times[1:] > 0.76)
    assert np.abs(arc.path_multipliers[outside, 0]).max() < 1e-6


@pytest.mark.parametrize("scales", [Scales(), ODD])
def test_path_multipliers_integrate_to_the_price_of_the_limit(scales: Scales) -> None:
    arc = effort(scales).arcs[0]
    price = float(arc.arc.mesh.weights() @ arc.path_multipliers[:, 0]) * arc.duration
    assert -price == pytest.approx(SLOPE, abs=1e-5)  # measured 1.1e-6 and 3.7e-6
    step = 1e-4
    difference = effort(scales, LIMIT + step).objective - effort(scales, LIMIT - step).objective
    # The mesh no longer breaks where the limit begins: second order in the step.
    assert -price == pytest.approx(difference / (2 * step), rel=1e-4)


def test_density_is_per_unit_of_time_on_an_arc_that_does_not_last_one() -> None:
    # Twice the time at half the limit: J = 7.68/2^3, mu = 38.4/2^3, lambda_x = -38.4/2^3.
    problem = speed_limited.problem(limit=LIMIT / 2.0)
    problem = replace(problem, arcs=(replace(problem.arcs[0], duration=(2.0, 2.0)),))
    start = straight_line(problem, [0.0, 2.0], [[0.0, 0.0, 0.0], [1.0, 0.0, 1.0]], [[0.0]])
    solution = solve(problem, start, TIGHTEST)
    assert solution.objective == pytest.approx(COST / 8.0, abs=1e-8)
    arc = solution.arcs[0]
    assert arc.costates[:, 0] == pytest.approx(-4.8, abs=1e-5)
    middle = (arc.times[1:] > 0.52) & (arc.times[1:] < 1.48)
    assert arc.path_multipliers[middle, 0] == pytest.approx(DENSITY / 8.0, abs=2e-4)


def test_hamiltonian_is_constant_across_the_limit() -> None:
    # H = lambda_x v + lambda_v u + u^2/2; on the limit u = 0 and H = -38.4 x 1.2.
    assert effort(Scales()).arcs[0].hamiltonian() == pytest.approx(-46.08, abs=1e-5)


def moon(insertion: dict[int, float]) -> Solution:
    """Least time to the flat Moon's insertion with some of its targets moved."""
    moved = tuple(b + insertion.get(k, 0.0) for k, b in enumerate((185.2e3, 1627.0, 0.0)))
    problem = MOON.problem(MODEL, RadauMesh.uniform(intervals=4, degree=6))
    start, target = problem.conditions
    problem = replace(problem, conditions=(start, replace(target, bounds=Bounds.fixed(moved))))
    return solve(problem, MOON.guess(problem), TIGHT)


MODEL = MOON.model()


@pytest.mark.parametrize(("entry", "step"), [(0, 100.0), (1, 1.0), (2, 1.0)])
def test_condition_multiplier_is_minus_the_cost_of_moving_the_bound(
    entry: int, step: float
) -> None:
    difference = moon({entry: step}).objective - moon({entry: -step}).objective
    multipliers = moon({}).condition_multipliers
    assert -multipliers[4 + entry] == pytest.approx(difference / (2 * step), rel=1e-5)


def test_condition_multiplier_is_the_final_costate() -> None:
    # L = cost + multiplier * value: stationarity with respect to the final state.
    solution = moon({})
    assert solution.condition_multipliers[4:] == pytest.approx(
        solution.arcs[0].costates[-1, 1:], rel=1e-9
    )
    assert solution.condition_multipliers[:4] == pytest.approx(
        -solution.arcs[0].costates[0], rel=1e-9, abs=1e-15
    )


def test_inequality_multiplier_has_the_sign_of_the_bound_that_holds() -> None:
    # A faster and higher end costs time: the lower bounds hold, and their multipliers are negative.
    problem = MOON.problem(MODEL, RadauMesh.uniform(intervals=4, degree=6))
    start, target = problem.conditions
    low = Bounds(lower=(185.2e3, 1627.0, 0.0), upper=(1e6, 1e4, 0.0))
    problem = replace(problem, conditions=(start, replace(target, bounds=low)))
    solution = solve(problem, MOON.guess(problem), TIGHT)
    assert solution.objective == pytest.approx(481.203872306, abs=1e-4)
    equal = moon({})
    assert np.all(solution.condition_multipliers[4:6] < 0.0)
    assert solution.condition_multipliers == pytest.approx(
        equal.condition_multipliers, rel=1e-5, abs=1e-9
    )


def two_arcs() -> Problem:
    """The speed-limited run cut in two at half time, the joint continuous."""
    whole = speed_limited.problem()
    states = speed_limited.PLAIN.states
    mesh = RadauMesh(breaks=(0.0, 0.5, 1.0), degrees=(4, 4))
    arcs: tuple[Arc, ...] = tuple(
        replace(whole.arcs[0], name=name, mesh=mesh, duration=(0.5, 0.5))
        for name in ("first", "second")
    )
    end = Condition(quantities=states[:2], expression=second_end, bounds=Bounds.fixed((1.0, 0.0)))
    return replace(
        whole,
        arcs=arcs,
        conditions=(starts_at(states, (0.0, 0.0, 0.0)), joined(states, 0), end),
    )


def second_end(ends: Ends) -> list[Expr]:
    return [ends.end[1][0], ends.end[1][1]]


def test_costate_is_continuous_across_a_joint_on_a_limit_and_is_the_joints_multiplier() -> None:
    problem = two_arcs()
    states = [[0.0, 0.0, 0.0], [0.5, 1.0, 3.0], [1.0, 0.0, 6.0]]
    start = straight_line(problem, [0.0, 0.5, 1.0], states, [[0.0], [0.0]])
    solution = solve(problem, start, TIGHTEST)
    assert solution.objective == pytest.approx(COST, abs=1e-8)
    before, after = solution.arcs[0].costates[-1], solution.arcs[1].costates[0]
    assert before == pytest.approx(after, abs=2e-6)
    # The joint says start - end = 0, with the sign of the arc that begins.
    assert solution.condition_multipliers[3:6] == pytest.approx(-after, abs=1e-12)
    assert solution.arcs[0].costates[0] == pytest.approx([-38.4, -9.6, 1.0], abs=1e-5)


def test_costate_is_continuous_across_a_joint_of_the_linear_tangent_climb() -> None:
    # The second arc starts with the costate that the first one ends with, and both lie on the
    # closed form of the undivided climb: lambda_vy / lambda_vx = p - q t.
    whole = MOON.problem(MODEL, RadauMesh.uniform(intervals=4, degree=8))
    arcs = (
        replace(whole.arcs[0], name="first", duration=(200.0, 200.0)),
        replace(whole.arcs[0], name="second"),
    )
    start, _ = whole.conditions
    end = ends_at(MOON.states, 1, {1: 185.2e3, 2: 1627.0, 3: 0.0})
    problem = replace(whole, arcs=arcs, conditions=(start, joined(MOON.states, 0), end))
    states = [[0.0] * 4, [4e4, 9e4, 800.0, 300.0], [1e5, 185.2e3, 1627.0, 0.0]]
    guess = straight_line(problem, [0.0, 200.0, 480.0], states, [[0.5], [0.2]])
    solution = solve(problem, guess, TIGHT)
    assert solution.objective == pytest.approx(481.203872306, abs=5e-10)
    before, after = solution.arcs[0].costates[-1], solution.arcs[1].costates[0]
    assert before[1:] == pytest.approx(after[1:], rel=1e-9)
    tangent = 2.754001585 - 8.310514163e-3 * 200.0
    assert after[3] / after[2] == pytest.approx(tangent, rel=1e-8)

"""Prices of what moves the corner of a control, from the mesh that has it in narrow intervals.

Rest to rest over a unit length in the least time, with -1 <= u <= 2 and u + 4 v <= L: x' = v,
v' = u. By hand: full thrust until v = a = (L - 2)/4, then u = L - 4 v for a time s, then full
brakes. With v = (L - 2 exp(-4 s))/4 at the brakes, the length is
a^2/4 + L s/4 - (1 - exp(-4 s))/8 + v^2/2 and the time a/2 + s + v.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, inf

import numpy as np
import pytest
from scipy.optimize import brentq

from ascentopt.collocation import (
    Bounds,
    Envelope,
    Model,
    NotConverged,
    Point,
    Problem,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    refine_switching_points,
)
from ascentopt.collocation.refinement.switching_points import corners, mesh_with_narrow_corners
from ascentopt.typing import Expr
from tests.collocation.dash import dash, start
from tests.collocation.problems import quantities

RULE = Refinement(tolerance=1e-6, path_tolerance=5e-3, widest_corner=0.001)
LIMITS = (3.6, 3.75, 3.9, 4.05, 4.2, 4.35)


def rates(point: Point) -> list[Expr]:
    return [point.state[1], point.control]


def effort(point: Point) -> list[Expr]:
    return [point.control + 4.0 * point.state[1]]


MODEL = Model(
    name="dash",
    states=quantities("x", "v"),
    controls=quantities("u"),
    rates=rates,
    path=quantities("effort"),
    path_values=effort,
    may_jump=(0,),
)


def problem(limit: float) -> Problem:
    mesh = RadauMesh.uniform(intervals=4, degree=4)
    return dash(MODEL, mesh, Bounds(lower=(-inf,), upper=(limit,)))


def refined(limit: float) -> Solution:
    coarse = problem(limit)
    return refine(coarse, start(coarse), RULE)


def price(solution: Solution, limit: float) -> float:
    """Of the limit, by the envelope."""
    arc = problem(limit + 1e-5).arcs[0]
    changed = replace(solution.problem, arcs=(replace(arc, mesh=solution.arcs[0].arc.mesh),))
    gained = Envelope.of(solution).change(changed)
    assert gained is not None
    return gained / 1e-5


def by_hand(limit: float) -> float:
    """Least time."""

    top = (limit - 2.0) / 4.0

    def speed(s: float) -> float:
        return (limit - 2.0 * exp(-4.0 * s)) / 4.0

    def beyond(s: float) -> float:
        gained = limit * s / 4.0 - (1.0 - exp(-4.0 * s)) / 8.0
        return top**2 / 4.0 + gained + speed(s) ** 2 / 2.0 - 1.0

    s = float(brentq(beyond, 0.0, 3.0, xtol=1e-14))
    return top / 2.0 + s + speed(s)


def slope_by_hand(limit: float) -> float:
    return (by_hand(limit + 1e-5) - by_hand(limit - 1e-5)) / 2e-5


def test_the_price_of_a_limit_is_right_once_the_corner_is_in_a_narrow_interval() -> None:
    """On meshes that are refined for the trajectory alone it is off by up to a quarter."""
    before, after = [], []
    for limit in LIMITS:
        coarse, wanted = refined(limit), slope_by_hand(limit)
        fine = refine_switching_points(coarse, RULE, 5)
        assert fine.objective == pytest.approx(by_hand(limit), rel=1e-5)
        before.append(abs(price(coarse, limit) / wanted - 1.0))
        after.append(abs(price(fine, limit) / wanted - 1.0))
    assert max(before) > 0.1
    assert max(after) < 0.01


def test_corners_end_up_in_narrow_straight_intervals() -> None:
    fine = refine_switching_points(refined(4.0), RULE, 5).arcs[0]
    found, mesh = corners(fine), fine.arc.mesh
    assert found.any()
    assert mesh.widths[found].max() <= RULE.widest_corner
    assert np.array(mesh.straight)[found].all()
    assert mesh_with_narrow_corners(fine, RULE) == mesh
    bend = 0.25 / (fine.times[-1] - fine.times[0])
    assert np.abs(np.array(mesh.breaks)[:-1][found] - bend).min() < 0.003


def test_what_has_no_jumping_control_keeps_its_mesh() -> None:
    solution = refined(4.0)
    smooth = replace(MODEL, may_jump=())
    arc = replace(solution.arcs[0], arc=replace(solution.arcs[0].arc, model=smooth))
    assert not corners(arc).any()
    assert mesh_with_narrow_corners(arc, RULE) == arc.arc.mesh


def test_a_solve_that_fails_carries_the_solution_before_it() -> None:
    coarse = refined(4.0)
    with pytest.raises(NotConverged) as failure:
        refine_switching_points(coarse, RULE, 5, SolverSettings(iterations=1))
    assert failure.value.solved is coarse

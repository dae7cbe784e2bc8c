"""Maximum-radius orbit transfer: A. E. Bryson, Y.-C. Ho, *Applied Optimal Control*, p. 66.

The radius with more digits than the book's was recomputed independently. The thrust sweeps through
half a turn at mid-course, which a uniform mesh does not resolve.
"""

from __future__ import annotations

from functools import cache

import casadi as ca
import numpy as np
import pytest

from ascentopt.collocation import (
    Accuracy,
    Arc,
    ArcGuess,
    Bounds,
    Condition,
    Ends,
    Guess,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    solve,
)
from ascentopt.typing import Expr
from tests.collocation.problems import FinalEntry, quantities, starts_at

RADIUS = 1.5252777006
STATES = quantities("r", "u", "v")


def rates(point: Point) -> list[Expr]:
    r, u, v = point.state[0], point.state[1], point.state[2]
    acceleration = 0.1405 / (1.0 - 0.0749 * point.time)
    sine, cosine = ca.sin(point.control), ca.cos(point.control)
    return [u, v**2 / r - 1.0 / r**2 + acceleration * sine, -u * v / r + acceleration * cosine]


def circular(ends: Ends) -> list[Expr]:
    r, u, v = ends.end[0][0], ends.end[0][1], ends.end[0][2]
    return [u, v - r**-0.5]


TRANSFER = Model(name="transfer", states=STATES, controls=(Quantity("theta", "rad"),), rates=rates)


def problem(mesh: RadauMesh) -> Problem:
    arc = Arc(name="transfer", model=TRANSFER, mesh=mesh, duration=(3.32, 3.32))
    orbit = Condition(quantities=STATES[1:], expression=circular, bounds=Bounds.fixed((0.0, 0.0)))
    return Problem(
        arcs=(arc,),
        conditions=(starts_at(STATES, (1.0, 0.0, 1.0)), orbit),
        objective=Objective(quantity=STATES[0], expression=FinalEntry(0), maximise=True),
    )


GUESS = Guess(
    np.array([0.0, 3.32]),
    (
        ArcGuess(
            np.array([0.0, 0.5, 0.501, 1.0]),
            np.array([[1.0, 0.0, 1.0], [1.25, 0.2, 0.9], [1.25, 0.2, 0.9], [1.5, 0.0, 0.8]]),
            np.array([[0.5], [1.5], [4.5], [5.5]]),
        ),
    ),
    np.zeros(0),
)
COARSE = RadauMesh.uniform(intervals=6, degree=4)
RULE = Refinement(tolerance=1e-8)


@cache
def refined() -> Solution:
    return refine(problem(COARSE), GUESS, RULE, SolverSettings(tolerance=1e-12))


def test_bryson_ho_p_66_refined_from_a_coarse_mesh() -> None:
    # From 6 x 4 to 13 intervals of degree 5 to 8; measured 4.9e-11, half of the last digit.
    assert refined().objective == pytest.approx(RADIUS, abs=1e-10)
    assert Accuracy.of(refined()).error < RULE.tolerance
    assert sum(refined().arcs[0].arc.mesh.degrees) < 120


def test_a_coarse_mesh_is_wrong_and_its_continuous_error_says_so() -> None:
    coarse = solve(problem(COARSE), GUESS)
    assert abs(coarse.objective - RADIUS) > 1e-6
    assert Accuracy.of(coarse).error > 1e-4


def test_refinement_puts_the_nodes_where_the_thrust_sweeps() -> None:
    # The sweep is at about half time: the shortest interval lies there.
    mesh = refined().arcs[0].arc.mesh
    shortest = int(np.argmin(mesh.widths))
    assert 0.3 < mesh.breaks[shortest] < 0.7


def test_thrust_lies_along_the_velocity_costate_of_the_cost() -> None:
    # The cost is minus the radius, so that the thrust opposes the costate.
    arc = refined().arcs[0]
    theta, costate = arc.controls[:, 0], arc.costates[1:, 1:]
    along = costate[:, 0] * np.sin(theta) + costate[:, 1] * np.cos(theta)
    across = costate[:, 0] * np.cos(theta) - costate[:, 1] * np.sin(theta)
    assert np.all(along < 0.0)
    assert np.abs(across).max() < 1e-8 * np.abs(costate).max()

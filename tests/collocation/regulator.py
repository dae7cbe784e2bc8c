"""The scalar regulator: x' = u, w' = (x^2 + u^2)/2, x(0) = 1, minimise w(1).

Riccati: the cost is tanh(1 - t) x^2/2, so that J = tanh(1)/2, x = cosh(1 - t)/cosh 1,
u = -tanh(1 - t) x and lambda = tanh(1 - t) x. Source: A. E. Bryson, Y.-C. Ho, *Applied Optimal
Control*, sec. 5.2.
"""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import Arc, Guess, Model, Objective, Point, Problem, Quantity, RadauMesh
from ascentopt.collocation.mesh.radau import Array
from ascentopt.typing import Expr
from tests.collocation.problems import FinalEntry, quantities, starts_at, straight_line

COST = float(np.tanh(1.0)) / 2.0


def rates(point: Point) -> list[Expr]:
    x, u = point.state[0], point.control
    return [u, (x**2 + u**2) / 2.0]


MODEL = Model(name="regulator", states=quantities("x", "w"), controls=quantities("u"), rates=rates)


def problem(mesh: RadauMesh) -> Problem:
    return Problem(
        arcs=(Arc(name="regulate", model=MODEL, mesh=mesh, duration=(1.0, 1.0)),),
        conditions=(starts_at(MODEL.states, (1.0, 0.0)),),
        objective=Objective(quantity=Quantity("w"), expression=FinalEntry(1)),
    )


def guess(of: Problem) -> Guess:
    return straight_line(of, [0.0, 1.0], [[1.0, 0.0], [0.5, 0.5]], [[0.0]])


def state(times: Array) -> Array:
    return np.asarray(np.cosh(1.0 - times) / np.cosh(1.0))


def costate(times: Array) -> Array:
    return np.asarray(np.sinh(1.0 - times) / np.cosh(1.0))

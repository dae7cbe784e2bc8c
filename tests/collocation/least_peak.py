"""Rest to rest over the distance d in unit time with the effort J: the least peak V of the speed.

x' = v, v' = u, w' = u^2/2 with w(1) <= J, v <= V along the way, and V is what is made least: a
minimax, as a free number in a path limit. It is `speed_limited` turned round: J = 8/9 V^3/(V - 1)
at d = 1, and the same controls. As V is free the density mu of the limit's multiplier, constant
from t1 = 3/2 (1 - 1/V) to 1 - t1, has the integral one; so all multipliers are those of
`speed_limited` over its -dJ/dV = 19.2. At J = 7.68: V = 1.2, t1 = 1/4, mu = 2 = -lambda_x,
lambda_v = -1/2 at the start, dV/dJ = -1/19.2. V/d depends on J/d^2 alone, so dV/dd = 2.
On a mesh broken at t1 and 1 - t1 the solution is piecewise polynomial, and so exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from ascentopt.collocation import (
    Arc,
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
)
from ascentopt.typing import Expr
from tests.collocation.problems import EndOf, ends_at, quantities, starts_at, straight_line
from tests.collocation.speed_limited import BREAKS, COST, LIMIT, SLOPE, rates

PEAK, EFFORT = LIMIT, COST
DENSITY, BY_EFFORT = 2.0, 1.0 / SLOPE
EXACT = RadauMesh(breaks=BREAKS, degrees=(4, 4, 4, 4))


def beyond_the_peak(point: Point) -> list[Expr]:
    return [point.state[1] - point.free]


MODEL = Model(
    name="least peak",
    states=quantities("x", "v", "w"),
    controls=quantities("u"),
    rates=rates,
    path=(Quantity("speed beyond the peak", "m/s", 0.5),),
    path_values=beyond_the_peak,
    free=("peak",),
)


@dataclass(frozen=True)
class Peak:
    def __call__(self, ends: Ends) -> Expr:
        return ends.free[0]


def problem(mesh: RadauMesh = EXACT, distance: float = 1.0, effort: float = EFFORT) -> Problem:
    arc = Arc(
        name="run",
        model=MODEL,
        mesh=mesh,
        duration=(1.0, 1.0),
        path_bounds=Bounds(lower=(-inf,), upper=(0.0,)),
    )
    budget = Condition(
        quantities=(Quantity("effort", "m2/s3", 5.0),),
        expression=EndOf(0, (2,)),
        bounds=Bounds(lower=(-inf,), upper=(effort,)),
    )
    states = MODEL.states
    return Problem(
        arcs=(arc,),
        conditions=(
            starts_at(states, (0.0, 0.0, 0.0)),
            ends_at(states, 0, {0: distance, 1: 0.0}),
            budget,
        ),
        objective=Objective(quantity=Quantity("peak", "m/s", 2.0), expression=Peak()),
        free=(Quantity("peak", "m/s", 3.0),),
        free_bounds=Bounds(lower=(0.0,), upper=(inf,)),
    )


def guess(of: Problem) -> Guess:
    line = straight_line(of, [0.0, 1.0], [[0.0, 0.5, 0.0], [1.0, 0.5, 5.0]], [[0.0]])
    return Guess(line.instants, line.arcs, np.array([2.0]))

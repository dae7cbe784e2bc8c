"""Rest to rest over a unit length in unit time, the least effort, with a speed limit V.

x' = v, v' = u, w' = u^2/2; minimise w(1) with v <= V < 3/2. By hand: u = a (1 - t/t1) until
t1 = 3/2 (1 - 1/V), then u = 0, then the mirror image, with a = 2 V/t1. The cost is
J = 8/9 V^3/(V - 1). With lambda_v = -u, lambda_x = -a/t1 everywhere, and the multiplier of the
limit is the density mu = a/t1 on the middle arc, so that dJ/dV = -mu (1 - 2 t1).
At V = 1.2: t1 = 1/4, a = 9.6, J = 7.68, mu = 38.4, dJ/dV = -19.2. On a mesh broken at t1 and
1 - t1 the solution is piecewise polynomial, and so exact from degree 3.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.collocation import (
    Arc,
    Bounds,
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
from tests.collocation.problems import FinalEntry, ends_at, starts_at, straight_line

LIMIT = 1.2
COST = 7.68
DENSITY = 38.4
SLOPE = -19.2
BREAKS = (0.0, 0.25, 0.5, 0.75, 1.0)


def rates(point: Point) -> list[Expr]:
    return [point.state[1], point.control, point.control**2 / 2.0]


def speed(point: Point) -> list[Expr]:
    return [point.state[1]]


@dataclass(frozen=True, kw_only=True)
class Scales:
    """Typical sizes of everything that has one."""

    x: float = 1.0
    v: float = 1.0
    w: float = 1.0
    u: float = 1.0
    limit: float = 1.0
    time: float = 1.0
    conditions: float = 1.0
    objective: float = 1.0


def model(scales: Scales) -> Model:
    return Model(
        name="speed-limited",
        states=(
            Quantity("x", "m", scales.x),
            Quantity("v", "m/s", scales.v),
            Quantity("w", "m2/s3", scales.w),
        ),
        controls=(Quantity("u", "m/s2", scales.u),),
        rates=rates,
        path=(Quantity("speed", "m/s", scales.limit),),
        path_values=speed,
    )


PLAIN = model(Scales())


@dataclass(frozen=True)
class Negative:
    """Minus one entry of the final state: the same optimum, seen as a gain."""

    entry: int

    def __call__(self, ends: Ends) -> Expr:
        return -FinalEntry(self.entry)(ends)


def problem(
    scales: Scales = Scales(),
    limit: float = LIMIT,
    *,
    maximise: bool = False,
    kind: Model | None = None,
) -> Problem:
    kind = kind or (PLAIN if scales == Scales() else model(scales))
    arc = Arc(
        name="run",
        model=kind,
        mesh=RadauMesh(breaks=BREAKS, degrees=(4, 4, 4, 4)),
        duration=(1.0, 1.0),
        path_bounds=Bounds(lower=(float("-inf"),), upper=(limit,)),
    )
    sized = tuple(replace(q, scale=scales.conditions) for q in kind.states)
    cost = Quantity("effort", "m2/s3", scales.objective)
    expression = Negative(2) if maximise else FinalEntry(2)
    return Problem(
        arcs=(arc,),
        conditions=(starts_at(sized, (0.0, 0.0, 0.0)), ends_at(sized, 0, {0: 1.0, 1: 0.0})),
        objective=Objective(quantity=cost, expression=expression, maximise=maximise),
        time=Quantity("time", "s", scales.time),
    )


def guess(of: Problem) -> Guess:
    return straight_line(of, [0.0, 1.0], [[0.0, 0.0, 0.0], [1.0, 0.0, 5.0]], [[0.0]])

"""Goddard's sounding rocket in its bang-singular-coast form.

v' = (T - sigma v^2 exp(-(h - h0)/hs))/m - g(h), m' = -T/c. On the singular arc the thrust keeps
m g = (1 + v/c) D: A. E. Bryson, Y.-C. Ho, *Applied Optimal Control*, sec. 8.3, eq. for quadratic
drag; with g = mu/h^2 the same surface holds (from memory; the optimum itself confirms it).
"""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
)
from ascentopt.typing import Expr
from tests.collocation.problems import FinalEntry, ends_at, joined, starts_at


@dataclass(frozen=True)
class Goddard:
    """Data of a rocket; ``inverse_square`` says whether gravity is gravity/h^2 or constant."""

    states: tuple[Quantity, ...]
    drag_coefficient: float
    ground: float
    scale_height: float
    gravity: float
    exhaust_speed: float
    thrust: float
    inverse_square: bool

    def drag(self, x: Expr) -> Expr:
        air = ca.exp(-(x[0] - self.ground) / self.scale_height)
        return self.drag_coefficient * x[1] ** 2 * air

    def pull(self, x: Expr) -> Expr:
        return self.gravity / x[0] ** 2 if self.inverse_square else self.gravity

    def rates(self, x: Expr, thrust: Expr) -> list[Expr]:
        acceleration = (thrust - self.drag(x)) / x[2] - self.pull(x)
        return [x[1], acceleration, -thrust / self.exhaust_speed]

    def surface(self, x: Expr) -> Expr:
        return x[2] * self.pull(x) - (1.0 + x[1] / self.exhaust_speed) * self.drag(x)

    def singular_rates(self, x: Expr) -> list[Expr]:
        """Rates with the thrust that keeps the surface at its value: s' = a + b T = 0."""
        y, thrust = ca.SX.sym("y", 3), ca.SX.sym("thrust")
        slope = ca.jtimes(self.surface(y), y, ca.vertcat(*self.rates(y, thrust)))
        law = -ca.substitute(slope, thrust, 0.0) / ca.jacobian(slope, thrust)
        return self.rates(x, ca.Function("law", [y], [law])(x))

    def holding_rates(self, x: Expr) -> list[Expr]:
        """Rates with the thrust that keeps the speed."""
        return self.rates(x, self.drag(x) + x[2] * self.pull(x))


NORMALISED = Goddard(
    states=(Quantity("h"), Quantity("v", scale=0.1), Quantity("m")),
    drag_coefficient=310.0,
    ground=1.0,
    scale_height=1.0 / 500.0,
    gravity=1.0,
    exhaust_speed=0.5,
    thrust=3.5,
    inverse_square=True,
)

DIMENSIONAL = Goddard(
    states=(
        Quantity("h", "ft", 1e4),
        Quantity("v", "ft/s", 1e3),
        Quantity("m", "slug", 1.0),
    ),
    drag_coefficient=5.4915348492e-5,
    ground=0.0,
    scale_height=23800.0,
    gravity=32.174,
    exhaust_speed=1580.9425279876559,
    thrust=193.044,
    inverse_square=False,
)


def full_thrust(rocket: Goddard) -> Model:
    def rates(point: Point) -> Expr:
        return rocket.rates(point.state, rocket.thrust)

    return Model(name="full thrust", states=rocket.states, rates=rates)


def singular(rocket: Goddard) -> Model:
    def rates(point: Point) -> Expr:
        return rocket.singular_rates(point.state)

    return Model(name="singular", states=rocket.states, rates=rates)


def constant_speed(rocket: Goddard) -> Model:
    def rates(point: Point) -> Expr:
        return rocket.holding_rates(point.state)

    return Model(name="constant speed", states=rocket.states, rates=rates)


def coast(rocket: Goddard) -> Model:
    def rates(point: Point) -> Expr:
        return rocket.rates(point.state, 0.0)

    return Model(name="coast", states=rocket.states, rates=rates)


def throttled(rocket: Goddard) -> Model:
    """Thrust is the control."""

    def rates(point: Point) -> Expr:
        return rocket.rates(point.state, point.control)

    control = (Quantity("T", scale=rocket.thrust),)
    return Model(name="throttled", states=rocket.states, controls=control, rates=rates)


def climb(
    rocket: Goddard,
    models: tuple[Model, ...],
    ends: tuple[dict[int, float], ...],
    start: tuple[float, ...],
    longest: float,
    speed_limit: float = float("inf"),
) -> Problem:
    """Highest climb through arcs of the given models; ``ends`` fixes states at their ends."""
    infinity = float("inf")
    arcs = tuple(
        Arc(
            name=model.name,
            model=model,
            mesh=RadauMesh.uniform(intervals=4, degree=8),
            duration=(1e-3 * longest, longest),
            state_bounds=None
            if speed_limit == infinity or not model.controls
            else Bounds(lower=(-infinity,) * 3, upper=(infinity, speed_limit, infinity)),
            control_bounds=Bounds(lower=(0.0,), upper=(rocket.thrust,)) if model.controls else None,
        )
        for model in models
    )
    fixed: list[Condition] = [
        ends_at(rocket.states, k, values) for k, values in enumerate(ends) if values
    ]
    joints = [joined(rocket.states, k) for k in range(len(models) - 1)]
    return Problem(
        arcs=arcs,
        conditions=(starts_at(rocket.states, start), *joints, *fixed),
        objective=Objective(quantity=rocket.states[0], expression=FinalEntry(0), maximise=True),
        time=Quantity("time", scale=longest),
    )

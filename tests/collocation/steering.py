"""Steering with a constant acceleration over a flat ground, and its closed form.

tan u = p - q t, e = p - q T: vx = (a/q)(asinh p - asinh e),
vy = (a/q)(sqrt(1 + p^2) - sqrt(1 + e^2)) - g T. Source: A. E. Bryson, Y.-C. Ho, *Applied Optimal
Control*, sec. 2.7 (the bilinear and linear tangent laws).
"""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Guess,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
)
from ascentopt.typing import Expr
from tests.collocation.problems import LastInstant, ends_at, starts_at, straight_line


@dataclass(frozen=True)
class Steering:
    """Climb from rest to a height and a horizontal speed in the least time.

    ``sizes`` are the scales of (height, speed, time).
    """

    acceleration: float
    gravity: float
    height: float
    speed: float
    sizes: tuple[float, float, float] = (1.0, 1.0, 1.0)

    @property
    def states(self) -> tuple[Quantity, ...]:
        height, speed, _ = self.sizes
        return (
            Quantity("x", "m", height),
            Quantity("y", "m", height),
            Quantity("vx", "m/s", speed),
            Quantity("vy", "m/s", speed),
        )

    @property
    def time(self) -> Quantity:
        return Quantity("time", "s", self.sizes[2])

    def model(self) -> Model:
        def rates(point: Point) -> list[Expr]:
            x, u = point.state, point.control
            a = self.acceleration
            return [x[2], x[3], a * ca.cos(u), a * ca.sin(u) - self.gravity]

        return Model(
            name="steering", states=self.states, controls=(Quantity("u", "rad"),), rates=rates
        )

    def insertion(self) -> Condition:
        return ends_at(self.states, 0, {1: self.height, 2: self.speed, 3: 0.0})

    def problem(self, model: Model, mesh: RadauMesh) -> Problem:
        time = self.sizes[2]
        arc = Arc(
            name="climb",
            model=model,
            mesh=mesh,
            duration=(0.01 * time, 10.0 * time),
            control_bounds=Bounds(lower=(-1.6,), upper=(1.6,)),
        )
        return Problem(
            arcs=(arc,),
            conditions=(starts_at(self.states, (0.0, 0.0, 0.0, 0.0)), self.insertion()),
            objective=Objective(quantity=self.time, expression=LastInstant()),
            time=self.time,
        )

    def guess(self, problem: Problem) -> Guess:
        end = [self.height, self.height, self.speed, 0.0]
        return straight_line(problem, [0.0, self.sizes[2]], [[0.0] * 4, end], [[0.5]])


# COPS 3.0, ANL/MCS-TM-273, 2004, problem 9: prints 0.554572 with 400 intervals.
COPS = Steering(acceleration=100.0, gravity=0.0, height=5.0, speed=45.0)
# J. M. Longuski, J. J. Guzman, J. E. Prussing, *Optimal Control with Aerospace Applications*,
# Springer 2014, App. A: from a flat Moon, thrusting three times the lunar weight.
MOON = Steering(
    acceleration=3.0 * 1.62,
    gravity=1.62,
    height=185.2e3,
    speed=1627.0,
    sizes=(1e5, 1e3, 1e2),
)

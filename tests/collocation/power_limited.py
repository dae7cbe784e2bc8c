"""A power-limited rocket: how much of it should be the power plant, for the greatest payload?

A plant of mass w delivers the power w/alpha to the jet, so that x' = v, v' = a and
m' = -alpha m^2 a^2/(2 w), or (1/m)' = alpha a^2/(2 w). From m(0) = M, rest to rest over the
distance d in the time T. By hand: 1/m(T) grows with the integral of a^2 alone, which is least for
a = 6 d/T^2 (1 - 2 t/T), and is 12 d^2/T^3 then. With gamma^2 = 6 alpha d^2/T^3

    m(T) = M w/(w + gamma^2 M),  payload = m(T) - w,

greatest where d(payload)/dw = gamma^2 M^2/(w + gamma^2 M)^2 - 1 is zero: w = M gamma (1 - gamma),
payload = M (1 - gamma)^2. So d(payload)/dM = (1 - gamma)^2, the costate of the mass at the start,
d(payload)/dd = -2 M gamma (1 - gamma)/d and d(payload)/d(alpha) = -M gamma (1 - gamma)/alpha.

The numbers are a flight over 20 million km in 116 days with 17 kg of plant for each kW.
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
from tests.collocation.problems import ends_at, joined, starts_at, straight_line

DISTANCE, TIME, MASS = 2e10, 1e7, 1000.0
GAMMA = 0.2
SPECIFIC_MASS = GAMMA**2 * TIME**3 / (6.0 * DISTANCE**2)
PLANT, PAYLOAD = MASS * GAMMA * (1.0 - GAMMA), MASS * (1.0 - GAMMA) ** 2


def rates(point: Point) -> list[Expr]:
    mass, thrust = point.state[2], point.control
    burned = point.parameter * mass**2 * thrust**2 / (2.0 * point.free)
    return [point.state[1], thrust, -burned]


MODEL = Model(
    name="power-limited",
    states=(
        Quantity("x", "m", DISTANCE),
        Quantity("v", "m/s", DISTANCE / TIME),
        Quantity("mass", "kg", MASS),
    ),
    controls=(Quantity("acceleration", "m/s2", DISTANCE / TIME**2),),
    rates=rates,
    parameters=("specific mass",),
    free=("plant",),
)


@dataclass(frozen=True)
class Payload:
    """What arrives and is no plant."""

    def __call__(self, ends: Ends) -> Expr:
        return ends.end[-1][2] - ends.free[1]


def problem(
    mesh: RadauMesh = RadauMesh.uniform(intervals=4, degree=6),
    *,
    arcs: int = 1,
    specific_mass: float = SPECIFIC_MASS,
    distance: float = DISTANCE,
    mass: float = MASS,
    largest: float = inf,
    scale: float = 100.0,
) -> Problem:
    """Of some equal arcs; ``largest`` plant, and the size in which it is counted.

    A second free number, in front of the plant, is there that nothing depends on.
    """
    states = MODEL.states
    return Problem(
        arcs=tuple(
            Arc(
                name=f"part {k}",
                model=MODEL,
                mesh=mesh,
                parameters=(specific_mass,),
                duration=(TIME / arcs,) * 2,
            )
            for k in range(arcs)
        ),
        conditions=(
            starts_at(states, (0.0, 0.0, mass)),
            *(joined(states, k) for k in range(arcs - 1)),
            ends_at(states, arcs - 1, {0: distance, 1: 0.0}),
            Condition(
                quantities=(Quantity("nothing"),),
                expression=first_free,
                bounds=Bounds.fixed((0.5,)),
            ),
        ),
        objective=Objective(
            quantity=Quantity("payload", "kg", MASS), expression=Payload(), maximise=True
        ),
        time=Quantity("time", "s", TIME),
        free=(Quantity("idle"), Quantity("plant", "kg", scale)),
        free_bounds=Bounds(lower=(0.0, 1.0), upper=(1.0, largest)),
    )


def first_free(ends: Ends) -> Expr:
    return ends.free[0]


def guess(of: Problem) -> Guess:
    """A straight line at constant speed, with a plant of the wrong size."""
    count = len(of.arcs)
    shares = np.linspace(0.0, 1.0, count + 1)
    states = [[DISTANCE * s, DISTANCE / TIME, MASS * (1.0 - 0.1 * s)] for s in shares]
    line = straight_line(of, (TIME * shares).tolist(), states, [[0.0]] * count)
    return Guess(line.instants, line.arcs, np.array([0.2, 300.0]))

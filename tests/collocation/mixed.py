"""A problem that uses everything at once and means nothing.

Two models of different sizes, time in the equations, path limits, parameters, free numbers that
one of the models reads in another order than the problem's, a free start, a fixed-duration arc
after a free one, a span of two arcs, a mixed mesh, odd scales.
The functions take floats, arrays and symbols alike, so that NumPy can repeat them.
"""

from __future__ import annotations

from typing import Any

import casadi as ca
import numpy as np

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Ends,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Span,
)


def powered_rates(p: Point) -> list[Any]:
    a, b, c = p.state[0], p.state[1], p.state[2]
    u, v = p.control[0], p.control[1]
    drag, sweep, g, f = p.parameter[0], p.parameter[1], p.free[0], p.free[1]
    return [
        b * u + ca.sin(sweep * p.time),
        a * c - drag * b * b * v * g,
        (1.0 + p.time) * u * v * f * g - c / (2.0 + a * a),
    ]


def powered_path(p: Point) -> list[Any]:
    a, c, g = p.state[0], p.state[2], p.free[0]
    return [a * p.control[1] + p.time, p.parameter[0] * c**2 * ca.exp(-g * g)]


def drifting_rates(p: Point) -> list[Any]:
    return [-p.state[0] * p.state[1] + p.time * p.elapsed, ca.exp(-0.1 * p.state[0])]


POWERED = Model(
    name="powered",
    states=(Quantity("a", "m", 3.0), Quantity("b", "m/s", 0.2), Quantity("c", "kg", 7.0)),
    controls=(Quantity("u", "rad", 2.0), Quantity("v", "", 0.5)),
    rates=powered_rates,
    path=(Quantity("p", "Pa", 4.0), Quantity("q", "Pa", 0.3)),
    path_values=powered_path,
    parameters=("drag", "sweep"),
    free=("g", "f"),
)
DRIFTING = Model(
    name="drifting",
    states=(Quantity("a", "m", 5.0), Quantity("d", "m", 0.7)),
    rates=drifting_rates,
)


def first_condition(ends: Ends) -> Any:
    return ends.start[0][0] ** 2 * ends.free[0] - ends.time[0]


def second_condition(ends: Ends) -> list[Any]:
    return [
        ends.end[0][0] * ends.start[1][1] - ends.time[2],
        ends.parameter[0] * ends.end[2][2] * ends.free[1] ** 2 + ends.end[1][0],
    ]


def payoff(ends: Ends) -> Any:
    return ends.end[2][0] * ends.time[3] + ends.free[0] * ends.free[1] * ends.parameter[1]


def arc(name: str, model: Model, degrees: tuple[int, ...], duration: tuple[float, float]) -> Arc:
    count = len(degrees)
    breaks = tuple((np.arange(count + 1) / count) ** 1.3)
    parameters = (0.4, 1.7) if model is POWERED else ()
    mesh = RadauMesh(breaks=breaks, degrees=degrees)
    return Arc(name=name, model=model, mesh=mesh, parameters=parameters, duration=duration)


PROBLEM = Problem(
    arcs=(
        arc("first", POWERED, (3, 1, 4), (0.5, 5.0)),
        arc("coast", DRIFTING, (2, 3), (0.1, 9.0)),
        arc("second", POWERED, (5,), (2.0, 2.0)),
    ),
    conditions=(
        Condition(
            quantities=(Quantity("k", "s", 2.0),),
            expression=first_condition,
            bounds=Bounds(lower=(0.0,), upper=(1.0,)),
        ),
        Condition(
            quantities=(Quantity("l", "s", 3.0), Quantity("m", "m", 0.1)),
            expression=second_condition,
            bounds=Bounds.fixed((1.0, 2.0)),
        ),
    ),
    objective=Objective(quantity=Quantity("payoff", "kg", 11.0), expression=payoff, maximise=True),
    start_time=(0.0, 1.0),
    spans=(Span(first=0, last=2, shortest=1.0, longest=8.0),),
    time=Quantity("time", "s", 1.5),
    free=(Quantity("f", "", 0.9), Quantity("g", "", 1.3)),
    free_bounds=Bounds(lower=(0.0, 0.0), upper=(2.0, 2.0)),
    parameters=("r", "s"),
    parameter_values=(0.6, -2.0),
)

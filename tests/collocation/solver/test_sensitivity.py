"""Slopes of the optimal cost by the numbers of a problem, against re-solving."""

from __future__ import annotations

from dataclasses import dataclass, replace

import casadi as ca
import numpy as np
import pytest

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
    Solution,
    SolverSettings,
    solve,
)
from ascentopt.collocation.nlp.program import build
from ascentopt.typing import Expr
from tests.collocation.problems import quantities, starts_at, straight_line

STATES = quantities("y", "vx", "vy")
TIGHT = SolverSettings(tolerance=1e-11)


def rates(point: Point) -> list[Expr]:
    acceleration, gravity = point.parameter[0], point.parameter[1]
    u = point.control
    return [point.state[2], acceleration * ca.cos(u), acceleration * ca.sin(u) - gravity]


def insertion(ends: Ends) -> list[Expr]:
    """Height and speeds less what the problem's numbers ask for."""
    return [ends.end[0][0] - ends.parameter[0], ends.end[0][1] - ends.parameter[1], ends.end[0][2]]


def weighted_time(ends: Ends) -> Expr:
    return ends.parameter[2] * ends.time[1]


MODEL = Model(
    name="climb",
    states=STATES,
    controls=quantities("u"),
    rates=rates,
    parameters=("acceleration", "gravity"),
)


@dataclass(frozen=True)
class Numbers:
    acceleration: float = 100.0
    gravity: float = 3.0
    height: float = 5.0
    speed: float = 45.0
    weight: float = 2.0


def problem(numbers: Numbers) -> Problem:
    arc = Arc(
        name="climb",
        model=MODEL,
        mesh=RadauMesh.uniform(intervals=4, degree=6),
        parameters=(numbers.acceleration, numbers.gravity),
        duration=(0.01, 10.0),
        control_bounds=Bounds(lower=(-1.6,), upper=(1.6,)),
    )
    end = Condition(quantities=STATES, expression=insertion, bounds=Bounds.fixed((0.0,) * 3))
    return Problem(
        arcs=(arc,),
        conditions=(starts_at(STATES, (0.0, 0.0, 0.0)), end),
        objective=Objective(quantity=Quantity("time", "s", 0.5), expression=weighted_time),
        time=Quantity("time", "s", 0.7),
        parameters=("height", "speed", "weight"),
        parameter_values=(numbers.height, numbers.speed, numbers.weight),
    )


def optimum(numbers: Numbers) -> Solution:
    of = problem(numbers)
    start = straight_line(of, [0.0, 1.0], [[0.0, 0.0, 0.0], [5.0, 45.0, 0.0]], [[0.5]])
    return solve(of, start, TIGHT)


def slopes() -> dict[str, float]:
    """Derivatives of the cost by all numbers from one solution."""
    solution = optimum(Numbers())
    program = build(solution.problem.structure())
    raw = solution.raw
    every = np.array(program.sensitivity(raw.x, raw.p, raw.lam_g)).ravel()
    layout = program.layout
    model = layout.arcs[0].first_parameter + 2 * layout.arcs[0].nodes
    places = [model, model + 1, *(layout.first_problem_parameter + np.arange(3))]
    scale = solution.problem.objective.quantity.scale
    names = ("acceleration", "gravity", "height", "speed", "weight")
    return dict(zip(names, every[places] * scale, strict=True))


@pytest.mark.parametrize("name", ["acceleration", "gravity", "height", "speed", "weight"])
def test_slope_of_the_cost_equals_the_difference_of_two_optima(name: str) -> None:
    value = getattr(Numbers(), name)
    step = 1e-3 * value
    more = optimum(replace(Numbers(), **{name: value + step}))
    less = optimum(replace(Numbers(), **{name: value - step}))
    difference = (more.objective - less.objective) / (2.0 * step)
    assert slopes()[name] == pytest.approx(difference, rel=1e-5)


def test_weight_of_the_cost_has_the_time_for_its_slope() -> None:
    assert slopes()["weight"] == pytest.approx(optimum(Numbers()).objective / 2.0, rel=1e-9)

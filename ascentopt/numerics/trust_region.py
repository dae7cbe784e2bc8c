"""A small trust-region method for costs that take a flight each and may fail or have corners.

Sequential quadratic programming with an elastic variable for the constraints, their worst violation
priced in the cost (an l-infinity penalty): J. Nocedal and S. J. Wright, Numerical Optimization,
2nd ed., 2006, sec. 18.5 (from memory). SciPy's SLSQP was tried first: its line search spent most
flights on steps that were far too long.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ascentopt.numerics.quadratic_program import QuadraticProgram
from ascentopt.typing import Floats

_ACCEPTED, _GOOD = 0.1, 0.7  # of the gain that the model promised
_DAMPING = 0.2  # Powell's: keeps the curvature positive
_ABOUT_NONE = 1e-9


@dataclass(frozen=True, eq=False, kw_only=True)
class ElasticProblem:
    """What is to be descended, in sizes in which changes of all variables matter alike.

    Attributes:
        measures: (1 + m,) cost, and m rooms that should not be negative; infinite cost where x
            leads nowhere.
        slopes: (1 + m, n) of these.
        matrix, offsets: matrix @ x + offsets >= 0, (l, n) and (l,); always kept.
        low, high: (n,) bounds, always kept.
        price: of the worst room below zero, in units of cost.
        curvature: (n, n), positive definite, to begin with.
    """

    measures: Callable[[Floats], Floats]
    slopes: Callable[[Floats], Floats]
    matrix: Floats
    offsets: Floats
    low: Floats
    high: Floats
    price: float
    curvature: Floats

    def merit(self, found: Floats) -> float:
        """Cost with what is broken."""
        return float(found[0] + self.price * max(0.0, -found[1:].min(initial=0.0)))


@dataclass(frozen=True, kw_only=True)
class Patience:
    """When to stop: after so many slopes, or where a step would gain less than `sharp`."""

    steps: int
    sharp: float
    radius: float = 1.0
    smallest: float = 0.02


class Settled(NamedTuple):
    """Where a search ended.

    Attributes:
        x: (n,) the point.
        prices: (m,) of the rooms there.
        curvature: (n, n) as it was learned.
    """

    x: Floats
    prices: Floats
    curvature: Floats


def search_in_trust_region(problem: ElasticProblem, x: Floats, patience: Patience) -> Settled:
    """The best point found, from `x`, which must lead somewhere."""
    here, slopes = problem.measures(x), problem.slopes(x)
    prices: Floats = np.zeros(len(here) - 1)
    curvature, radius = problem.curvature, patience.radius
    for _ in range(patience.steps):
        while True:
            step, prices, promise = _model_step(problem, (x, here, slopes, curvature), radius)
            if promise < patience.sharp or radius < patience.smallest:
                return Settled(x, prices, curvature)
            there = problem.measures(x + step)
            gain = problem.merit(here) - problem.merit(there)
            if gain <= _ACCEPTED * promise and there[1:].min(initial=0.0) < 0.0:
                # The rooms bend: the step is made again with what they turned out to be there.
                bent = np.concatenate([here[:1], there[1:] - slopes[1:] @ step])
                step, prices, _ = _model_step(problem, (x, bent, slopes, curvature), radius)
                there = problem.measures(x + step)
                gain = problem.merit(here) - problem.merit(there)
            if gain > _ACCEPTED * promise:
                break
            radius = 0.4 * min(radius, float(np.abs(step).max()))
        if gain > _GOOD * promise and np.abs(step).max() > 0.9 * radius:
            radius *= 2.0
        x, here, before = x + step, there, slopes
        slopes = problem.slopes(x)
        change = (slopes[0] - prices @ slopes[1:]) - (before[0] - prices @ before[1:])
        curvature = _bent(curvature, step, change)
    return Settled(x, prices, curvature)


def _bent(curvature: Floats, step: Floats, change: Floats) -> Floats:
    """Powell's damped update."""
    pushed = curvature @ step
    along, own = float(step @ pushed), float(step @ change)
    if along < _ABOUT_NONE:
        return curvature
    share = 1.0 if own >= _DAMPING * along else (1.0 - _DAMPING) * along / (along - own)
    damped = share * change + (1.0 - share) * pushed
    outer = np.outer(pushed, pushed) / along
    return np.asarray(curvature - outer + np.outer(damped, damped) / float(step @ damped))


def _model_step(
    problem: ElasticProblem, at: tuple[Floats, Floats, Floats, Floats], radius: float
) -> tuple[Floats, Floats, float]:
    """Step (n,) within the radius, prices (m,) of the rooms, and the gain that is promised."""
    x, here, slopes, curvature = at
    n, m = len(x), len(here) - 1
    # A room that no step of this length can use up asks for nothing.
    near = np.flatnonzero(here[1:] < radius * np.abs(slopes[1:]).sum(axis=1))
    h, g = np.zeros((n + 1, n + 1)), np.append(slopes[0], problem.price)
    h[:n, :n], h[n, n] = curvature, 1e-6
    bounds = np.eye(n + 1)
    low = np.append(np.maximum(problem.low - x, -radius), 0.0)
    high = np.append(np.minimum(problem.high - x, radius), np.inf)
    rooms = np.column_stack([slopes[1:][near], np.ones(len(near))])
    kept = np.column_stack([problem.matrix, np.zeros(len(problem.offsets))])
    program = QuadraticProgram(
        h=h,
        g=g,
        a=np.vstack([rooms, kept, bounds, -bounds]),
        b=np.concatenate([-here[1:][near], -(problem.matrix @ x + problem.offsets), low, -high]),
    )
    found, told = program.solved()
    step, prices = np.clip(found[:n], low[:n], high[:n]), np.zeros(m)
    prices[near] = told[: len(near)]
    ahead = here + slopes @ step
    ahead[0] += 0.5 * float(step @ curvature @ step)
    return step, prices, problem.merit(here) - problem.merit(ahead)

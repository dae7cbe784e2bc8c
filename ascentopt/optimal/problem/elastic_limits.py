"""Limits on loads that may all be multiplied by one factor, at a price: to and from such flights.

A flight far beyond the limits is feasible there, and the solver brings the factor down to one
itself, or to the least with which the vehicle flies. The price is paid only where it must be: with
a factor of one the optimum is that of the limits as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, sqrt

from ascentopt.collocation import Guess, Problem, Solution
from ascentopt.optimal.problem.linkage import EXCESS, WEIGHTS
from ascentopt.optimal.problem.transcription import Transcription


def with_load_excess(guess: Guess, excess: float) -> Guess:
    """The guess with an excess of the loads."""
    free = guess.free.copy()
    free[EXCESS] = excess
    return replace(guess, free=free)


def limit_factor(solution: Solution) -> float:
    """On the limits of an eased flight."""
    return exp(float(solution.free[EXCESS]))


def with_limits_before_speed(problem: Problem, missing: float) -> Problem:
    """The least missing speed of eased limits, the limits first however much is missing, m/s.

    It counts by its square s^2 / 2, so that an e-fold of the loads takes off s ds, which is more
    than the price of it where s is large: at 1600 m/s from ds = 60 m/s on the limits were eased to
    come nearer. Weighed by the inverse square it takes off ds / s, and the price is ten of those.
    """
    values, size = problem.parameter_values, problem.objective.quantity.scale
    mass, weight, price = values[WEIGHTS]
    weights = (mass, weight * size / max(size, missing**2), price)
    told = (*values[: WEIGHTS.start], *weights, *values[WEIGHTS.stop :])
    return replace(problem, parameter_values=told)


@dataclass(frozen=True, eq=False)
class ElasticSolution:
    """A solution whose limits on loads are multiplied, and the flight as it was written."""

    solution: Solution
    flight: Transcription

    @property
    def excess(self) -> float:
        """Logarithm of the factor on the limits."""
        return float(self.solution.free[EXCESS])

    @property
    def factor(self) -> float:
        """On the limits."""
        return limit_factor(self.solution)

    @property
    def missing_speed(self) -> float:
        """Beside the excess, m/s, of a least missing speed."""
        _, weight, price = self.solution.problem.parameter_values[WEIGHTS]
        return sqrt(2.0 * max(self.solution.objective - price * self.excess, 0.0) / weight)

"""Limits on loads that may all be multiplied by one factor, at a price: to and from such flights.

A flight far beyond the limits is feasible there, and the solver brings the factor down to one
itself, or to the least with which the vehicle flies. The price is paid only where it must be: with
a factor of one the optimum is that of the limits as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

from ascentopt.collocation import Guess, Solution
from ascentopt.optimal.problem.linkage import EXCESS
from ascentopt.optimal.problem.transcription import Transcription


def with_load_excess(guess: Guess, excess: float) -> Guess:
    """The guess with an excess of the loads."""
    free = guess.free.copy()
    free[EXCESS] = excess
    return replace(guess, free=free)


def limit_factor(solution: Solution) -> float:
    """On the limits of an eased flight."""
    return exp(float(solution.free[EXCESS]))


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

"""What there is where no flight to the orbit was found: the speed that is missing, or not even it.

A solve comes to a `Solution` that reaches the orbit, to a `Shortfall`, or stays `Unsolved`.
"""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.collocation import Solution
from ascentopt.optimal.problem.elastic_limits import ElasticSolution
from ascentopt.optimal.problem.transcription import missing_speed
from ascentopt.optimal.solve.ladder import REACHED_EXACTLY


@dataclass(frozen=True, eq=False)
class Shortfall:
    """How far the nearest flight is from the orbit: speed in m/s that is missing at its end."""

    speed: float
    nearest: Solution

    @classmethod
    def of(cls, nearest: Solution) -> Shortfall:
        """What a flight of least missing speed falls short by."""
        return cls(missing_speed(nearest), nearest)


@dataclass(frozen=True, eq=False)
class Unsolved:
    """It is not known how much speed is missing; the nearest flight misses nothing, if any is."""

    nearest: Solution | None = None


NotReached = Shortfall | Unsolved
Outcome = Solution | Shortfall | Unsolved


def unsolved_near(nearest: Solution | None) -> Shortfall | Unsolved:
    """What is known where the greatest mass was not found, from a flight of least missing speed.

    Where it misses by little there may be none; where it misses by nothing nobody knows.
    """
    if nearest is None:
        return Unsolved()
    found = Shortfall.of(nearest)
    return found if found.speed > REACHED_EXACTLY else Unsolved(nearest)


def nearer(first: NotReached, second: NotReached) -> NotReached:
    """The lesser of two shortfalls, or what else is known of the nearest flight."""
    if isinstance(first, Shortfall) and isinstance(second, Shortfall):
        return min(first, second, key=lambda one: one.speed)
    if isinstance(first, Shortfall) or second.nearest is None:
        return first
    return second


@dataclass(frozen=True, eq=False)
class LimitsStayEased:
    """The flight to the orbit that breaks its limits least, where none was found within them.

    ``nearest`` is the flight within them that comes nearest to the orbit, as far as one is known.
    """

    mildest: ElasticSolution
    nearest: Solution | None

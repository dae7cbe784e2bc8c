"""A limit on the time of the whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from time import monotonic


class TimeIsUp(Exception):
    """No time is left; raised between solves and flights, never within."""


@dataclass(frozen=True, kw_only=True)
class Deadline:
    """An instant on a clock.

    Args:
        at: the instant in s; inf for none.
        clock: what tells the time; the one on the wall, which goes on while others are at work.
    """

    at: float = inf
    clock: Callable[[], float] = monotonic

    @classmethod
    def after(cls, seconds: float | None) -> Deadline:
        """So many seconds from now; never, for None."""
        return cls() if seconds is None else cls(at=monotonic() + seconds)

    def left(self) -> float:
        """Seconds that are left.

        Raises:
            TimeIsUp: when none are.
        """
        left = self.at - self.clock()
        if left <= 0.0:
            raise TimeIsUp
        return left

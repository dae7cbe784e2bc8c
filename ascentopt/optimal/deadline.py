"""A limit on the time of the whole: each solve gets what is left, and none begins after it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, inf
from time import process_time

from ascentopt.collocation import SolverSettings

GRAIN = 0.5
"""s to which the time left is rounded up: solvers are kept by their settings, and one for every
millisecond is none that is kept."""


class TimeIsUp(Exception):
    """No time is left; raised before a solve, never within."""


@dataclass(frozen=True, kw_only=True)
class Deadline:
    """An instant on a clock, in processor seconds.

    Processor time, like a solve's own limit, so that an answer does not depend on how busy the
    machine is.

    Args:
        at: the instant; inf for none.
        clock: what tells the time.
    """

    at: float = inf
    clock: Callable[[], float] = process_time

    @classmethod
    def after(cls, seconds: float | None) -> Deadline:
        """So many seconds from now; never, for None."""
        return cls() if seconds is None else cls(at=process_time() + seconds)

    def settings(self, settings: SolverSettings) -> SolverSettings:
        """The settings, with no more time than is left.

        Raises:
            TimeIsUp: when none is.
        """
        left = self.at - self.clock()
        if left <= 0.0:
            raise TimeIsUp
        if left >= settings.time_limit:
            return settings
        grains = GRAIN * ceil(left / GRAIN)
        return replace(settings, time_limit=min(grains, settings.time_limit))

"""A limit on the time of the whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf
from time import monotonic

from ascentopt.progress.keyboard import HeldInterrupt


class TimeIsUp(Exception):
    """No time is left; raised between solves and flights, never within."""


@dataclass(frozen=True, kw_only=True)
class Deadline:
    """An instant on a clock.

    Args:
        at: the instant in s; inf for none.
        clock: what tells the time; the one on the wall, which goes on while others are at work.
        keyboard: whose key ends the work as well; None for nobody's.
    """

    at: float = inf
    clock: Callable[[], float] = monotonic
    keyboard: HeldInterrupt | None = field(default=None, compare=False)

    @classmethod
    def after(cls, seconds: float | None, keyboard: HeldInterrupt | None = None) -> Deadline:
        """So many seconds from now; never, for None."""
        return cls(at=inf if seconds is None else monotonic() + seconds, keyboard=keyboard)

    def left(self) -> float:
        """Seconds that are left.

        Raises:
            TimeIsUp: when none are.
            KeyboardInterrupt: when the key was pressed.
        """
        if self.keyboard is not None and self.keyboard.pressed:
            raise KeyboardInterrupt
        left = self.at - self.clock()
        if left <= 0.0:
            raise TimeIsUp
        return left

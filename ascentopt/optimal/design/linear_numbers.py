"""Numbers that are linear in a design's variables: slopes off changed vehicles, and checked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from ascentopt.errors import InputError
from ascentopt.typing import Floats

T = TypeVar("T")

ROUNDING = 1e-11
"""Share of a number by which it may seem to change: sums of some ten masses."""

LINEAR = 1e-7
"""Share of the change of a number by which it may be off what slopes say; what is not linear is off
by the change itself, a thousandth, at most a hundredth of it."""


@dataclass(frozen=True)
class Linear:
    """(k,) numbers ``constant`` + ``slopes`` (k, n) . d."""

    constant: Floats
    slopes: Floats

    @property
    def varies(self) -> bool:
        """Whether any of them changes."""
        return bool(self.slopes.any())

    def at(self, values: Floats) -> Floats:
        """(k,) at d."""
        return np.asarray(self.constant + self.slopes @ values)

    def least(self, lower: Floats, upper: Floats) -> Floats:
        """(k,) least between bounds of d."""
        chosen = np.where(self.slopes > 0.0, lower, np.where(self.slopes < 0.0, upper, 0.0))
        return np.asarray(self.constant + (self.slopes * chosen).sum(axis=1))


@dataclass(frozen=True, eq=False)
class Family(Generic[T]):
    """The same thing made with other values of the variables.

    Args:
        values: (n,) of the one that the numbers are known at.
        changed: (n,) values with one of them changed, for each, and with all of them.
        own: made with the values.
        others: made with what is changed.
    """

    values: Floats
    changed: tuple[Floats, ...]
    own: T
    others: tuple[T, ...]

    def linear(self, what: str, numbers: Callable[[T], Floats]) -> Linear:
        """Some numbers of it as they change; what is infinite stays so.

        Raises:
            InputError: where they are not linear.
        """
        at = np.asarray(numbers(self.own), dtype=float)
        known = np.isfinite(at)
        base = np.where(known, at, 0.0)
        moved = [np.where(known, numbers(one), 0.0) - base for one in self.others]
        noise = ROUNDING * np.abs(base)
        moved = [np.where(np.abs(one) <= noise, 0.0, one) for one in moved]
        by = np.diag(np.array(self.changed[:-1]) - self.values)
        slopes = np.array(moved[:-1]).T / by
        expected = np.array(moved[:-1]).sum(axis=0)
        off = np.abs(moved[-1] - expected) - LINEAR * np.abs(np.array(moved)).sum(axis=0)
        if (off > 2.0 * len(by) * noise).any():
            raise InputError(
                f"{what} is not linear in the numbers that are free, so that they are no unknowns "
                "of one program. Leave the thrust of boosters as it is, or free fewer numbers."
            )
        return Linear(np.where(known, base - slopes @ self.values, at), slopes)

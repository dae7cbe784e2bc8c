"""Numbers drawn from a seed: the same for ever."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log
from typing import TypeVar

import numpy as np

Item = TypeVar("Item")


class Draw:
    """A stream of choices made by one seed.

    NumPy promises the same bits from PCG64 in every version but not the same normal or integer
    draws, so everything here is made from uniform doubles alone.
    """

    def __init__(self, seed: int) -> None:
        self._generator = np.random.Generator(np.random.PCG64(seed))

    def uniform(self, low: float, high: float) -> float:
        """A number between the two, all equally likely."""
        return low + (high - low) * float(self._generator.random())

    def log_uniform(self, low: float, high: float) -> float:
        """A number between the two, all magnitudes equally likely; both positive."""
        return exp(self.uniform(log(low), log(high)))

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return min(high, low + int(self.uniform(0.0, high - low + 1)))

    def chance(self, probability: float) -> bool:
        """True with this probability."""
        return self.uniform(0.0, 1.0) < probability

    def one_of(self, items: Sequence[Item]) -> Item:
        """One of the items, all equally likely."""
        return items[self.whole(0, len(items) - 1)]

    def weighted(self, items: Sequence[tuple[float, Item]]) -> Item:
        """One of the items, each with its weight before it."""
        left = self.uniform(0.0, sum(weight for weight, _ in items))
        for weight, item in items:
            left -= weight
            if left < 0.0:
                return item
        return items[-1][1]

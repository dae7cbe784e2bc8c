"""Where the numbers of a rule stand on the scales on which they are sought; fixed ones left out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ascentopt.rules.laws.open_number import Open
from ascentopt.typing import Floats

_ROUNDING = 1e-9
"""Of a scale: a number that lies so little beyond its bound is within."""


@dataclass(frozen=True)
class Scale:
    """Places are tuples with a coordinate for each number that is not fixed, in their order."""

    opened: tuple[Open, ...]

    @cached_property
    def free(self) -> tuple[Open, ...]:
        """The numbers that are sought."""
        return tuple(one for one in self.opened if not one.fixed)

    def place(self, values: tuple[float, ...]) -> tuple[float, ...]:
        """Of values of all numbers."""
        pairs = zip(self.opened, values, strict=True)
        return tuple(one.place(value) for one, value in pairs if not one.fixed)

    def places(self, rows: list[tuple[float, ...]]) -> Floats:
        """(rows, free numbers) of values."""
        return np.array([self.place(row) for row in rows]).reshape(len(rows), len(self.free))

    def values(self, place: tuple[float, ...]) -> tuple[float, ...]:
        """Of all numbers at a place."""
        ahead = iter(place)
        return tuple(one.low if one.fixed else one.value(next(ahead)) for one in self.opened)

    @property
    def low(self) -> Floats:
        """(free numbers,) where their bounds stand."""
        return np.array([one.place(one.low) for one in self.free])

    @property
    def high(self) -> Floats:
        """Likewise."""
        return np.array([one.place(one.high) for one in self.free])

    def holds(self, place: tuple[float, ...]) -> bool:
        """Whether a place is within the bounds."""
        at = np.array(place)
        return bool(np.all((at >= self.low - _ROUNDING) & (at <= self.high + _ROUNDING)))

"""One side of a map, in the units that people read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.errors import InputError
from ascentopt.persistence import Result
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats
from ascentopt.validation import increasing, numbers


@dataclass(frozen=True, eq=False, kw_only=True)
class Axis(Result):
    """One side of a map: what is varied, in which SI unit, and the values (k,)."""

    name: str
    unit: str
    values: Floats

    def __post_init__(self) -> None:
        super().__post_init__()
        fix = "Give the values of the map's side, in SI."
        values = numbers(f"Axis {self.name!r}", "values", self.values, self.unit, fix)
        increasing(f"Axis {self.name!r}", "values", values, self.unit, "Sort them.")
        if not values:
            raise InputError(f"Axis {self.name!r}: values is empty; it must hold one. {fix}")
        object.__setattr__(self, "values", np.array(values))

    __repr__ = in_a_line


def unit_of(axis: Axis) -> str:
    """As people read it: deg for rad, km for m."""
    return Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[1]


def shown(axis: Axis) -> Floats:
    """(k,) the values in that unit."""
    scale = Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[0]
    return np.asarray(axis.values, dtype=float) * scale


def in_unit(value: float, axis: Axis) -> str:
    """A value in that unit with the unit, where there is one."""
    return f"{value:.4g} {unit_of(axis)}".rstrip()


def axis_label(axis: Axis) -> str:
    """Name and unit, where there is one, as people read them."""
    return ", ".join(filter(None, (axis.name, unit_of(axis))))

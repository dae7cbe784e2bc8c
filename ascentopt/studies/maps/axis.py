"""One side of a map, in the units that people read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.rules.laws.parameter import Parameter
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Axis:
    """One side of a map: what is varied, in which SI unit, and the values (k,)."""

    name: str
    unit: str
    values: Floats

    __repr__ = in_a_line


def unit_of(axis: Axis) -> str:
    """As people read it: deg for rad, km for m."""
    return Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[1]


def shown(axis: Axis) -> Floats:
    """(k,) the values in that unit."""
    scale = Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[0]
    return np.asarray(axis.values, dtype=float) * scale

"""Wind against altitude, over ground that turns with the body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import hypot

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.tables import in_a_line
from ascentopt.typing import Value
from ascentopt.units import km
from ascentopt.validation import increasing, numbers, same_length
from ascentopt.world.sensible import WIND_SPEED, WIND_TOP
from ascentopt.world.table import SmoothTable, evaluate

_FIX = "Give lists of altitude in m, and of eastward and northward wind in m/s."


@checked
@dataclass(frozen=True, kw_only=True)
class Wind:
    """Where the air goes over the ground: `eastward` and `northward` m/s at each `altitude` m.

    It is the direction that the wind blows to: a wind "from the west" is eastward. The points are
    joined smoothly (C2) and without overshoot; beyond the ends the wind stays as it is there.
    Altitudes increase, and there are at least two. Raises `InputError`.
    """

    altitude: Sequence[float]
    eastward: Sequence[float]
    northward: Sequence[float]

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        units = {"altitude": "m", "eastward": "m/s", "northward": "m/s"}
        columns = {
            name: numbers("Wind", name, getattr(self, name), unit, _FIX)
            for name, unit in units.items()
        }
        for name, column in columns.items():
            object.__setattr__(self, name, column)
        same_length("Wind", columns, _FIX)
        if len(columns["altitude"]) < 2:
            raise InputError(f"Wind: the table has fewer than 2 altitudes. {_FIX}")
        increasing("Wind", "altitude", columns["altitude"], "m", "Sort the table by altitude.")
        WIND_TOP.check("Wind", "altitude[-1]", self.altitude[-1])
        WIND_SPEED.check("Wind", "the fastest", self.fastest)

    @property
    def fastest(self) -> float:
        """Speed in m/s at the point where it blows most."""
        return max(
            hypot(east, north)
            for east, north in zip(self.eastward, self.northward, strict=True)
        )

    def __str__(self) -> str:
        low, high = self.altitude[0] / km, self.altitude[-1] / km
        return f"wind up to {self.fastest:.3g} m/s, given from {low:g} to {high:g} km"

    def at(self, altitude: Value) -> tuple[Value, Value]:
        """Return eastward and northward wind in m/s: of a float, an array or a CasADi scalar."""
        east, north = evaluate(altitude, self._tables)
        return east, north

    @cached_property
    def _tables(self) -> tuple[SmoothTable, SmoothTable]:
        return (
            SmoothTable.held(x=self.altitude, y=self.eastward),
            SmoothTable.held(x=self.altitude, y=self.northward),
        )

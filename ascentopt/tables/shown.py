"""Numbers and units as people read them."""

from __future__ import annotations

from math import isnan

from ascentopt.units import deg, km, kN, kPa

Cell = float | int | str | bool | None
"""What stands in a table. None is nothing: an empty field, and NaN in a data frame."""

_SHOWN = {
    "m": (km, "km"),
    "Pa": (kPa, "kPa"),
    "rad": (deg, "deg"),
    "rad/s": (deg, "deg/s"),
    "Pa rad": (kPa * deg, "kPa deg"),
    "N": (kN, "kN"),
    "kg/rad": (1.0 / deg, "kg/deg"),
    "-": (1.0, ""),
}


def head_shown(name: str, unit: str) -> tuple[str, str]:
    """Name and unit of a column, its name in words."""
    return name.replace("_", " "), _SHOWN.get(unit, (1.0, unit))[1]


def shown_number(value: float, unit: str) -> float:
    """A number of an SI unit in the unit that people read it in."""
    return value / _SHOWN.get(unit, (1.0, unit))[0]


def shown(cell: Cell, unit: str) -> str:
    """A cell in that unit."""
    if cell is None or (isinstance(cell, float) and isnan(cell)):
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{shown_number(cell, unit):.7g}"
    return str(cell)

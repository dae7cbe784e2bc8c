"""What became of a flight, as cells of a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

import numpy as np

from ascentopt.guided.outcomes import End, Outcomes
from ascentopt.typing import Floats
from ascentopt.validation import require

OUTCOMES = (
    ("end", ""), ("propellant_left", "kg"), ("propellant_missing", "kg"), ("time", "s"),
    ("dynamic_pressure", "Pa"), ("q_alpha", "Pa rad"), ("axial_acceleration", "m/s^2"),
    ("heating", "W/m^2"), ("periapsis_altitude", "m"), ("apoapsis_altitude", "m"),
    ("inclination", "rad"), ("radius_off", "m"), ("climb_off", "m/s"), ("speed_off", "m/s"),
    ("out_of_plane", "m"), ("drift", "m/s"),
)  # fmt: skip
"""Columns: names and units."""

_ENDS = {End.IN_ORBIT: "in orbit", End.SHORT: "short of propellant", End.FELL: "fell"}


def outcome_cells(found: Outcomes, k: int) -> tuple[object, ...]:
    """One for each column, of flight k."""
    loads, misses = found.loads, found.misses
    numbers = (
        found.propellant_left, found.missing_propellant, found.time, loads.dynamic_pressure,
        loads.q_alpha, loads.axial_acceleration, loads.heating, found.periapsis, found.apoapsis,
        found.inclination, misses.radius, misses.climb, misses.speed, misses.out_of_plane,
        misses.drift,
    )  # fmt: skip
    return end_told(found, k), *(float(one[k]) for one in numbers)


def end_told(found: Outcomes, k: int) -> str:
    """How flight k ended, in words."""
    return _ENDS[End(int(found.end[k]))]


def drawn_numbers(inputs: object, columns: int) -> Floats:
    """(n, columns) of what was drawn. Raises `InputError` for anything else."""
    try:
        found = np.asarray(inputs, dtype=np.float64)
    except (TypeError, ValueError):
        found = np.zeros(0)
    require(
        "DispersedFlights", "inputs", inputs, "", f"an array of numbers, {columns} to each flight",
        "Give what was drawn.", holds=found.ndim == 2 and found.shape[1] == columns,
    )  # fmt: skip
    return found


def sound(name: str, found: Outcomes, count: int) -> Outcomes:
    """The same, with whole numbers for the ends, which a file does not tell from others.

    Raises:
        InputError: unless there is one of everything for each of so many flights.
    """
    for place, array in _arrays(found):
        require(
            "DispersedFlights", f"length of {name}.{place}", len(array), "", f"{count}, as all are",
            "Give one for each flight.", holds=array.ndim > 0 and len(array) == count,
        )  # fmt: skip
    known = np.isin(found.end, [int(end) for end in End])
    require(
        "DispersedFlights", f"{name}.end", found.end, "", "one of the ends of flights",
        "Give values of End.", holds=bool(np.all(known)),
    )  # fmt: skip
    return replace(found, end=np.asarray(found.end, dtype=np.int64))


def _arrays(found: object, path: str = "") -> Iterator[tuple[str, Floats]]:
    for one in fields(found):  # type: ignore[arg-type]
        value = getattr(found, one.name)
        if is_dataclass(value):
            yield from _arrays(value, f"{path}{one.name}.")
        elif value is not None:
            yield f"{path}{one.name}", np.asarray(value)

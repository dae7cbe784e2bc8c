"""Columns of numbers against altitude, as users give them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ascentopt.errors import InputError
from ascentopt.validation import increasing, numbers, positive, same_length


def checked_columns(
    given: Mapping[str, Iterable[float]], owner: str
) -> dict[str, tuple[float, ...]]:
    """The columns by their names; positive, equally many, and sorted by "altitude".

    Raises `InputError` for any others.
    """
    fix = "Give lists of altitude in m, temperature in K, pressure in Pa, density in kg/m^3."
    columns = {name: numbers(owner, name, values, "", fix) for name, values in given.items()}
    same_length(owner, columns, fix)
    if len(columns["altitude"]) < 2:
        raise InputError(f"{owner}: the table has fewer than 2 altitudes. {fix}")
    increasing(owner, "altitude", columns["altitude"], "m", "Sort the table by altitude.")
    for name in columns.keys() - {"altitude"}:
        for index, value in enumerate(columns[name]):
            positive(owner, f"{name}[{index}]", value, "", fix)
    return columns

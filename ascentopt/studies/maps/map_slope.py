"""What a small step off the best point of a map costs, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ascentopt.studies.maps.axis import Axis, shown, unit_of
from ascentopt.typing import Floats
from ascentopt.units import in_places

_STEPS = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""Steps off the best point, in shown units, of which the first that the grid holds is priced."""

_LONG = {"deg": "degree", "km": "kilometre"}


def edges_of(axes: tuple[Axis, Axis], place: tuple[int, int]) -> tuple[str, ...]:
    """Names of the axes, upward and across, at whose end a cell lies; none for one of one value."""
    sides = zip(axes, place, strict=True)
    return tuple(
        axis.name for axis, at in sides if len(axis.values) > 1 and at in (0, len(axis.values) - 1)
    )


def edge_note(edges: tuple[str, ...]) -> str:
    """What is said of a best cell there."""
    return (
        f"The best point lies at the map's edge ({', '.join(edges)}): the least may be beyond it. "
        "Widen the map there."
    )


def slope_texts(
    axes: tuple[Axis, Axis], penalty: Floats, excess: Floats, place: tuple[int, int]
) -> Iterator[str]:
    """What a step off the cell costs along each axis, upward and across.

    Penalty in kg and excess of the limits are (rows, columns). Beside a cell that keeps the limits,
    steps that break one have no price.
    """
    row, column = place
    if excess[place] <= 0.0:
        penalty = np.where(excess <= 0.0, penalty, np.nan)
    upward, across = axes
    sides = (across, penalty[row, :], column), (upward, penalty[:, column], row)
    for axis, costs, at in sides:
        values = shown(axis)
        for step in _STEPS:
            prices = [price(values, costs, values[at] + way * step) for way in (-1.0, 1.0)]
            if any(one is not None for one in prices):
                dearer = [None if one is None else one - float(costs[at]) for one in prices]
                yield _told(axis, step, dearer)
                break


def _told(axis: Axis, step: float, dearer: list[float | None]) -> str:
    """One line on a step below and above the best; a side that has no price is left out."""
    unit = unit_of(axis)
    size = f"One {_LONG.get(unit, unit)}" if step == 1.0 else f"{step:g} {unit}"
    size = size.rstrip()  # a number may have no unit
    pairs = zip(dearer, ("below", "above"), strict=True)
    prices = [(in_places(cost, 1), way) for cost, way in pairs if cost is not None]
    told = " or ".join(f"{cost} kg ({way})" for cost, way in prices)
    return f"{size} off the best {axis.name} costs {told}."


def price(values: Floats, costs: Floats, place: float) -> float | None:
    """Penalty between cells; None outside the grid and where there is no orbit."""
    there = refined(values, costs, np.array([place]))[0]
    return float(there) if np.isfinite(there) else None


def refined(values: Floats, costs: Floats, places: Floats) -> Floats:
    """(n,) costs at the places, by a cubic through every unbroken row of orbits; NaN beyond them.

    The cells' own costs are met exactly.
    """
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.interpolate import CubicSpline

    found = np.full(len(places), np.nan)
    finite = np.isfinite(costs)
    cuts = np.flatnonzero(np.diff(finite)) + 1
    for run in np.split(np.arange(len(costs)), cuts):
        if not finite[run[0]]:
            continue
        own = (places >= values[run[0]] - _SLIVER) & (places <= values[run[-1]] + _SLIVER)
        alone = len(run) == 1
        found[own] = costs[run[0]] if alone else CubicSpline(values[run], costs[run])(places[own])
    return found


_SLIVER = 1e-9  # what rounding may add to a place

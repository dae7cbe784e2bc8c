"""A cost map between its cells, for contours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.studies.maps.map_slope import refined
from ascentopt.typing import Floats

_FINE = 300  # points a side, about
_MOST = 20  # between two cells


@dataclass(frozen=True, eq=False)
class Mesh:
    """Costs and excesses on a fine grid: x (m,), y (n,), the others (n, m)."""

    x: Floats
    y: Floats
    penalty: Floats
    excess: Floats


def mesh_of(x: Floats, y: Floats, penalty: Floats, excess: Floats) -> Mesh:
    """Between columns by cubics; between rows straight along the valley and the edges of orbits.

    A valley that runs aslant through a coarse grid falls apart into islands if rows are joined
    straight up. So places of two rows are joined that lie alike between where their orbits begin,
    where they cost least and where their orbits end. The cells' own values are met exactly.
    """
    fine, heights = _between(x), _between(y)
    marks = [_marks(x, row, fine) for row in penalty]
    surfaces = [_surface((x, y, values), marks, (fine, heights)) for values in (penalty, excess)]
    return Mesh(fine, heights, *surfaces)


def _between(values: Floats) -> Floats:
    parts = int(np.clip(_FINE // len(values), 1, _MOST))
    places = np.arange(parts * (len(values) - 1) + 1) / parts
    return np.interp(places, np.arange(len(values)), values)


def _marks(x: Floats, costs: Floats, fine: Floats) -> tuple[float, ...]:
    """Where a row's orbits begin, where it costs least if that is between, and where they end."""
    cells = x[np.isfinite(costs)]
    if not len(cells):
        return ()
    there = refined(x, costs, fine)
    least = float(fine[int(np.nanargmin(there))])
    ends = float(cells[0]), float(cells[-1])
    return (ends[0], least, ends[1]) if ends[0] < least < ends[1] else ends


def _surface(
    cells: tuple[Floats, Floats, Floats],
    marks: list[tuple[float, ...]],
    fine: tuple[Floats, Floats],
) -> Floats:
    """(len(heights), len(fine)) values between the cells, given x, y and theirs."""
    x, y, values = cells
    places, heights = fine
    found = np.full((len(heights), len(places)), np.nan)
    rows = np.clip(np.searchsorted(y, heights, side="right") - 1, 0, len(y) - 2)
    for at, row in enumerate(rows):
        share = float((heights[at] - y[row]) / (y[row + 1] - y[row]))
        if share < _SLIVER or share > 1.0 - _SLIVER:
            found[at] = refined(x, values[row + round(share)], places)
        elif marks[row] and marks[row + 1]:
            below, above = _alike(marks[row], marks[row + 1], share, places)
            lower, upper = (
                refined(x, values[row], below),
                refined(x, values[row + 1], above),
            )
            found[at] = (1.0 - share) * lower + share * upper
    return found


def _alike(
    low: tuple[float, ...], high: tuple[float, ...], share: float, places: Floats
) -> tuple[Floats, Floats]:
    """(m,) places in two rows that lie between their marks as `places` do at a share of the way."""
    if len(low) != len(high):
        low, high = (low[0], low[-1]), (high[0], high[-1])
    here = (1.0 - share) * np.array(low) + share * np.array(high)
    own = np.where((places >= here[0] - _SLIVER) & (places <= here[-1] + _SLIVER), places, np.nan)
    return np.interp(own, here, low), np.interp(own, here, high)


_SLIVER = 1e-9

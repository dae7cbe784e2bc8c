"""A cost map between its cells, for contours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ascentopt.report.figures.map_edges import smoothest_edge
from ascentopt.studies.maps.map_slope import refined
from ascentopt.typing import Floats

_FINE = 300  # points a side, about
_MOST = 20  # between two cells
_SLIVER = 1e-9


@dataclass(frozen=True, eq=False)
class Mesh:
    """Costs and excesses on a fine grid: x (m,), y (n,), the others (n, m)."""

    x: Floats
    y: Floats
    penalty: Floats
    excess: Floats


def mesh_of(x: Floats, y: Floats, penalty: Floats, excess: Floats) -> Mesh:
    """Between columns by cubics; between rows by monotone cubics along the valley and the edges.

    A valley that runs aslant through a coarse grid falls apart into islands if rows are joined
    straight up, and contours have kinks if they are joined straight along it. So places of the rows
    are joined that lie alike between where their orbits begin, where they cost least and where they
    end, and these three are smooth curves from row to row. An edge of the orbits is the smoothest
    one that parts the last cell with an orbit from the next without. The cells are met exactly.
    """
    fine, heights = _between(x), _between(y)
    shape = len(heights), len(fine)
    surfaces = [np.full(shape, np.nan) for _ in range(2)]
    for rows, parts in _stretches(penalty):
        own = (heights >= y[rows[0]] - _SLIVER) & (heights <= y[rows[-1]] + _SLIVER)
        for surface, values in zip(surfaces, (penalty, excess), strict=True):
            surface[own] = np.nan
            for part in parts:
                marks = _marks(x, y[rows], np.where(part, penalty[rows], np.nan), fine)
                band = _Band(x, y[rows], np.where(part, values[rows], np.nan), marks)
                found = np.array([band.at(height, fine) for height in heights[own]])
                surface[own] = np.where(np.isfinite(found), found, surface[own])
    return Mesh(fine, heights, *surfaces)


def _stretches(penalty: Floats) -> Iterator[tuple[np.ndarray, list[np.ndarray]]]:
    """Runs of rows with orbits and the cells (rows, columns) of each part; later ones replace.

    A row is one part, holes and all, where its neighbours part otherwise. Where rows in a row have
    one gap, those before and those beyond it are bands of their own, whose edges are smooth.
    """
    finite = np.isfinite(penalty)
    for rows in _runs(np.asarray(finite.any(axis=1))):
        yield rows, [finite[rows]]
    gaps = np.array([len(_beginnings(row)) == 2 for row in finite])
    for rows in _runs(gaps):
        if len(rows) < 2:
            continue
        before = np.array([np.arange(len(row)) < _beginnings(row)[1] for row in finite[rows]])
        parts = [finite[rows] & before, finite[rows] & ~before]
        if all(np.all((part[1:] & part[:-1]).any(axis=1)) for part in parts):
            yield rows, parts


def _beginnings(row: np.ndarray) -> np.ndarray:
    """Where each run of cells with orbits begins."""
    return np.flatnonzero(row & ~np.append(False, row[:-1]))


def _between(values: Floats) -> Floats:
    parts = int(np.clip(_FINE // len(values), 1, _MOST))
    places = np.arange(parts * (len(values) - 1) + 1) / parts
    return np.interp(places, np.arange(len(values)), values)


def _runs(true: np.ndarray) -> Iterator[np.ndarray]:
    """Indices of each unbroken run of rows for which it is true."""
    cuts = np.flatnonzero(np.diff(true)) + 1
    yield from (run for run in np.split(np.arange(len(true)), cuts) if true[run[0]])


def _marks(x: Floats, y: Floats, costs: Floats, fine: Floats) -> Floats:
    """(rows, 3) where a row's orbits begin, where it costs least, and where they end."""
    there = [np.flatnonzero(np.isfinite(row)) for row in costs]
    ends = np.array([(cells[0], cells[-1]) for cells in there])
    least = [float(fine[int(np.nanargmin(refined(x, row, fine)))]) for row in costs]
    first = -smoothest_edge(-x[::-1], y, len(x) - 1 - ends[:, 0])
    return np.column_stack([first, least, smoothest_edge(x, y, ends[:, 1])])


class _Band:
    """Rows in a row, all of them with orbits, and between them."""

    def __init__(self, x: Floats, y: Floats, values: Floats, marks: Floats) -> None:
        self.x, self.y, self.values, self.marks = x, y, values, marks

    def at(self, height: float, places: Floats) -> Floats:
        """(m,) values at a height; NaN beyond the edges, and beside holes."""
        row = int(np.clip(np.searchsorted(self.y, height, side="right") - 1, 0, len(self.y) - 2))
        near = np.arange(max(row - 1, 0), min(row + 3, len(self.y)))
        here = _joined(self.y[near], self.marks[near], row - near[0], height)
        begin, least, end = (float(mark) for mark in here)
        inside = (places >= begin - _SLIVER) & (places <= end + _SLIVER)
        alike = np.where(inside, _share(places, begin, least, end), np.nan)
        rows = np.array([self._row(int(index), alike) for index in near])
        return _joined(self.y[near], rows, row - near[0], height)

    def _row(self, index: int, alike: Floats) -> Floats:
        """(m,) values of a row at places that lie so between its marks."""
        places = np.interp(alike, (0.0, 1.0, 2.0), self.marks[index])
        cells = np.flatnonzero(np.isfinite(self.values[index]))
        x, costs = self.x[cells], self.values[index][cells]
        found = refined(self.x, self.values[index], np.clip(places, x[0], x[-1]))
        if len(cells) > 1:  # less than a cell beyond its orbits a row goes on as straight as there
            steps = np.diff(costs)[[0, -1]] / np.diff(x)[[0, -1]]
            found += steps[0] * np.minimum(places - x[0], 0.0)
            found += steps[1] * np.maximum(places - x[-1], 0.0)
        return found


def _share(places: Floats, begin: float, least: float, end: float) -> Floats:
    """0 to 1 from where orbits begin to where they cost least, 1 to 2 to where they end."""
    before = (places - begin) / max(least - begin, _SLIVER)
    after = (places - least) / max(end - least, _SLIVER)
    return np.asarray(np.where(places < least, before, 1.0 + after))


def _joined(y: Floats, rows: Floats, index: int, height: float) -> Floats:
    """(m,) between rows `index` and the next of up to four rows (k, m), by a monotone cubic.

    Slopes after F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984), from memory;
    straight where a row beyond is missing.
    """
    if len(y) == 1:
        return np.asarray(rows[0])
    step = float(y[index + 1] - y[index])
    share = (height - float(y[index])) / step
    if share < _SLIVER or share > 1.0 - _SLIVER:
        return np.asarray(rows[index + round(share)])
    chords = np.diff(rows, axis=0) / np.diff(y)[:, None]
    own = chords[index]
    before = _slope(chords[index - 1], own) if index > 0 else own
    after = _slope(own, chords[index + 1]) if index + 2 < len(y) else own
    low, high = rows[index], rows[index + 1]
    bend = step * ((before - own) * (1.0 - share) - (after - own) * share)
    return np.asarray(low + share * (high - low) + share * (1.0 - share) * bend)


def _slope(below: Floats, above: Floats) -> Floats:
    """Harmonic mean of two chords where they rise or fall alike, zero where they do not."""
    known = np.isfinite(below) & np.isfinite(above)
    alike = below * above > 0.0
    total = np.where(alike, below + above, 1.0)
    mean = np.where(alike, 2.0 * below * above / total, 0.0)
    return np.where(known, mean, np.where(np.isfinite(below), below, above))

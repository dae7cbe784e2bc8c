"""How one arc is cut into collocation intervals."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ascentopt.collocation.mesh.radau import Array, RadauScheme, radau
from ascentopt.errors import InputError

LARGEST_DEGREE = 30  # the scheme is tested up to here; beyond it, more intervals cost less


@dataclass(frozen=True, kw_only=True)
class RadauMesh:
    """Intervals of an arc, as fractions of its duration, and the degree in each.

    Args:
        breaks: increasing fractions from 0 to 1, one more than there are intervals.
        degrees: number of collocation points in each interval.
        straight: whether controls that may jump are straight lines in each interval; by default
            in none.
    """

    breaks: tuple[float, ...]
    degrees: tuple[int, ...]
    straight: tuple[bool, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "breaks", tuple(float(b) for b in self.breaks))
        _check_breaks(self.breaks, len(self.degrees))
        if not all(d == int(d) and 1 <= d <= LARGEST_DEGREE for d in self.degrees):
            raise InputError(
                f"RadauMesh: degrees {self.degrees} must each be a whole number in "
                f"1..{LARGEST_DEGREE}. Use more intervals instead of a higher degree."
            )
        object.__setattr__(self, "degrees", tuple(int(d) for d in self.degrees))
        marks = tuple(bool(s) for s in self.straight) or (False,) * len(self.degrees)
        object.__setattr__(self, "straight", marks)
        if len(marks) != len(self.degrees):
            raise InputError(
                f"RadauMesh: straight has {len(marks)} entries for {len(self.degrees)} intervals. "
                "Give one for each, or none."
            )

    def __repr__(self) -> str:
        return f"RadauMesh({len(self.degrees)} intervals, {self.nodes} nodes)"

    @classmethod
    def uniform(cls, *, intervals: int, degree: int) -> RadauMesh:
        """Equal intervals of one degree."""
        breaks = tuple(np.linspace(0.0, 1.0, intervals + 1))
        return cls(breaks=breaks, degrees=(degree,) * intervals)

    @property
    def nodes(self) -> int:
        """Number of collocation points in the arc."""
        return sum(self.degrees)

    @cached_property
    def widths(self) -> Array:
        """(intervals,) widths as fractions of the arc."""
        return _fixed(np.diff(self.breaks))

    @cached_property
    def _lefts(self) -> Array:
        """(intervals,) where each begins."""
        return _fixed(np.array(self.breaks[:-1]))

    @cached_property
    def _firsts(self) -> NDArrayInt:
        """(intervals,) first collocation point of each."""
        return np.array(self.starts()[:-1])

    @cached_property
    def _counts(self) -> NDArrayInt:
        """(intervals,) degree of each."""
        return np.array(self.degrees)

    def schemes(self) -> tuple[RadauScheme, ...]:
        """The scheme of each interval."""
        return tuple(radau(degree) for degree in self.degrees)

    def starts(self) -> list[int]:
        """Index of the first collocation point of each interval, and the total count at the end."""
        return [0, *np.cumsum(self.degrees).tolist()]

    def fractions(self) -> Array:
        """(nodes,) collocation points as fractions of the arc."""
        return self._fractions

    @cached_property
    def _fractions(self) -> Array:
        cuts = zip(self.breaks[:-1], self.widths, self.schemes(), strict=True)
        points = [left + width * scheme.points for left, width, scheme in cuts]
        return _fixed(np.concatenate(points))

    def node_widths(self) -> Array:
        """(nodes,) width of the interval that each collocation point lies in."""
        return np.repeat(self.widths, self.degrees)

    def weights(self) -> Array:
        """(nodes,) quadrature weights over the whole arc, summing to 1."""
        return self._weights

    @cached_property
    def _weights(self) -> Array:
        pairs = zip(self.widths, self.schemes(), strict=True)
        return _fixed(np.concatenate([width * scheme.weights for width, scheme in pairs]))

    def locate(self, fraction: Array) -> NDArrayInt:
        """Interval that each fraction lies in; a break belongs to the interval on its right."""
        index: NDArrayInt = np.searchsorted(self._lefts[1:], fraction, side="right")
        return index

    def between(self) -> Array:
        """Fractions inside every interval, clear of its ends, twice as many as there are nodes."""
        trios = zip(self.breaks[:-1], self.widths, self.degrees, strict=True)
        return np.concatenate(
            [left + width * (np.arange(2 * d + 2) + 0.5) / (2 * d + 2) for left, width, d in trios]
        )

    def states_at(self, fraction: Array, values: Array) -> Array:
        """(m, n) states from their (nodes + 1, n) ``values`` at start and nodes."""
        return self._evaluated(fraction, values, RadauScheme.states_at)

    def controls_at(self, fraction: Array, values: Array) -> Array:
        """(m, n) controls from their (nodes, n) ``values`` at the nodes."""
        return self._evaluated(fraction, values, RadauScheme.controls_at)

    def slopes_at(self, fraction: Array, values: Array) -> Array:
        """(m, n) slopes of the states against the arc's fraction."""
        widths = self.widths[self.locate(np.atleast_1d(fraction))]
        return self._evaluated(fraction, values, RadauScheme.slopes_at) / widths[:, None]

    def _evaluated(self, fraction: Array, values: Array, matrix_of: LocalMatrix) -> Array:
        """All intervals of one degree at once, each point with a row of its own."""
        fraction = np.atleast_1d(np.asarray(fraction, dtype=float))
        result = np.empty((len(fraction), values.shape[1]))
        interval = self.locate(fraction)
        local = (fraction - self._lefts[interval]) / self.widths[interval]
        degree = self._counts[interval]
        for d in set(degree.tolist()):
            rows = np.flatnonzero(degree == d)
            matrix = matrix_of(radau(d), local[rows])
            nodes = self._firsts[interval[rows], None] + np.arange(matrix.shape[1])
            result[rows] = (matrix[:, None, :] @ values[nodes])[:, 0]
        return result


LocalMatrix = Callable[[RadauScheme, Array], Array]


def _fixed(array: Array) -> Array:
    array.flags.writeable = False
    return array


NDArrayInt = np.ndarray[tuple[int], np.dtype[np.intp]]


def _check_breaks(breaks: tuple[float, ...], intervals: int) -> None:
    increasing = bool(np.all(np.diff(breaks) > 0.0))
    ends = len(breaks) >= 2 and breaks[0] == 0.0 and breaks[-1] == 1.0
    if not (increasing and ends and len(breaks) == intervals + 1):
        raise InputError(
            f"RadauMesh: breaks {breaks} must increase from 0 to 1 and count one more than the "
            f"{intervals} degrees. Give one degree for each interval between two breaks."
        )


def derivative_entries(degrees: tuple[int, ...]) -> tuple[NDArrayInt, NDArrayInt, Array]:
    """Sparse matrix of the slopes at the nodes against each interval's own unit coordinate.

    Rows are nodes; columns are the values at the arc's start and at the nodes.

    Returns:
        Row, column and value of each entry.
    """
    starts = np.cumsum([0, *degrees])
    rows, columns, values = [], [], []
    for degree, first in zip(degrees, starts, strict=False):
        row, column = np.indices((degree, degree + 1))
        rows.append(first + row.ravel())
        columns.append(first + column.ravel())
        values.append(radau(degree).derivative.ravel())
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(values)

"""How one arc is cut into collocation intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.radau import (
    Array,
    RadauScheme,
    derivative_matrix,
    interpolation_matrix,
    radau,
)
from ascentopt.errors import InputError

LARGEST_DEGREE = 30  # the scheme is tested up to here; beyond it, more intervals cost less


@dataclass(frozen=True, kw_only=True)
class RadauMesh:
    """Intervals of an arc, as fractions of its duration, and the degree in each.

    Args:
        breaks: increasing fractions from 0 to 1, one more than there are intervals.
        degrees: number of collocation points in each interval.
    """

    breaks: tuple[float, ...]
    degrees: tuple[int, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "breaks", tuple(float(b) for b in self.breaks))
        _check_breaks(self.breaks, len(self.degrees))
        if not all(d == int(d) and 1 <= d <= LARGEST_DEGREE for d in self.degrees):
            raise InputError(
                f"RadauMesh: degrees {self.degrees} must each be a whole number in "
                f"1..{LARGEST_DEGREE}. Use more intervals instead of a higher degree."
            )
        object.__setattr__(self, "degrees", tuple(int(d) for d in self.degrees))

    @classmethod
    def uniform(cls, *, intervals: int, degree: int) -> RadauMesh:
        """Equal intervals of one degree."""
        breaks = tuple(np.linspace(0.0, 1.0, intervals + 1))
        return cls(breaks=breaks, degrees=(degree,) * intervals)

    @property
    def nodes(self) -> int:
        """Number of collocation points in the arc."""
        return sum(self.degrees)

    @property
    def widths(self) -> Array:
        """(intervals,) widths as fractions of the arc."""
        return np.diff(self.breaks)

    def schemes(self) -> tuple[RadauScheme, ...]:
        """The scheme of each interval."""
        return tuple(radau(degree) for degree in self.degrees)

    def starts(self) -> list[int]:
        """Index of the first collocation point of each interval, and the total count at the end."""
        return [0, *np.cumsum(self.degrees).tolist()]

    def fractions(self) -> Array:
        """(nodes,) collocation points as fractions of the arc."""
        cuts = zip(self.breaks[:-1], self.widths, self.schemes(), strict=True)
        return np.concatenate([left + width * scheme.points for left, width, scheme in cuts])

    def node_widths(self) -> Array:
        """(nodes,) width of the interval that each collocation point lies in."""
        return np.repeat(self.widths, self.degrees)

    def weights(self) -> Array:
        """(nodes,) quadrature weights over the whole arc, summing to 1."""
        pairs = zip(self.widths, self.schemes(), strict=True)
        return np.concatenate([width * scheme.weights for width, scheme in pairs])

    def locate(self, fraction: Array) -> NDArrayInt:
        """Interval that each fraction lies in; a break belongs to the interval on its right."""
        index = np.searchsorted(np.asarray(self.breaks), fraction, side="right") - 1
        return np.clip(index, 0, len(self.degrees) - 1)

    def state_interpolation(self, fraction: Array) -> Array:
        """(m, nodes + 1) matrix from state values at start and nodes to values at ``fraction``."""
        return self._interpolation(fraction, with_start=True)

    def control_interpolation(self, fraction: Array) -> Array:
        """(m, nodes) matrix from control values at the nodes to values at ``fraction``."""
        return self._interpolation(fraction, with_start=False)

    def state_slopes(self, fraction: Array) -> Array:
        """(m, nodes + 1) matrix from state values to slopes against the arc's fraction."""
        fraction = np.atleast_1d(np.asarray(fraction, dtype=float))
        matrix = self._interpolation(fraction, with_start=True)
        slopes = np.zeros_like(matrix)
        interval = self.locate(fraction)
        for k, first in enumerate(self.starts()[:-1]):
            rows, columns = interval == k, slice(first, first + self.degrees[k] + 1)
            inner = derivative_matrix(radau(self.degrees[k]).support) / self.widths[k]
            slopes[rows, columns] = matrix[rows, columns] @ inner
        return slopes

    def _interpolation(self, fraction: Array, *, with_start: bool) -> Array:
        fraction = np.atleast_1d(np.asarray(fraction, dtype=float))
        matrix = np.zeros((len(fraction), self.nodes + with_start))
        interval = self.locate(fraction)
        starts = self.starts()
        for k in np.unique(interval):
            rows = np.flatnonzero(interval == k)
            local = (fraction[rows] - self.breaks[k]) / self.widths[k]
            scheme = radau(self.degrees[k])
            support = scheme.support if with_start else scheme.points
            columns = slice(starts[k], starts[k] + len(support))
            matrix[rows, columns] = interpolation_matrix(support, local)
        return matrix


NDArrayInt = np.ndarray[tuple[int], np.dtype[np.intp]]


def _check_breaks(breaks: tuple[float, ...], intervals: int) -> None:
    increasing = bool(np.all(np.diff(breaks) > 0.0))
    ends = len(breaks) >= 2 and breaks[0] == 0.0 and breaks[-1] == 1.0
    if not (increasing and ends and len(breaks) == intervals + 1):
        raise InputError(
            f"RadauMesh: breaks {breaks} must increase from 0 to 1 and count one more than the "
            f"{intervals} degrees. Give one degree for each interval between two breaks."
        )


def derivative_of_degrees(degrees: tuple[int, ...]) -> Array:
    """(nodes, nodes + 1) slopes at the nodes against each interval's own unit coordinate.

    Columns are the values at the arc's start and at the collocation points.
    """
    matrix = np.zeros((sum(degrees), sum(degrees) + 1))
    first = 0
    for degree in degrees:
        rows = slice(first, first + degree)
        matrix[rows, first : first + degree + 1] = radau(degree).derivative
        first += degree
    return matrix

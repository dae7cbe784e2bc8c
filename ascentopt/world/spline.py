"""Cubic splines, not-a-knot, of many columns; SciPy's take a third of a second to import."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Spline:
    """Cubics through points, with two derivatives at every one and three next to either end.

    Attributes:
        x: (k,) increasing, two at least.
        pieces: (k - 1, m, 4) coefficients of powers of the distance from the left end, highest
            first.
    """

    x: Floats
    pieces: Floats

    @classmethod
    def through(cls, x: Floats, y: Floats) -> Spline:
        """Through (k, m) values; two points make a straight line, three a parabola."""
        column = x[:, np.newaxis]
        return cls(x, hermite(column, y, not_a_knot_slopes(column, y)))

    def __call__(self, at: Floats) -> Floats:
        """(n, m) values at (n,) places; beyond the ends the end pieces go on."""
        last = len(self.pieces) - 1
        place = np.clip(np.searchsorted(self.x, at, side="right") - 1, 0, last)
        t = (at - self.x[place])[:, np.newaxis]
        a, b, c, d = np.moveaxis(self.pieces[place], -1, 0)
        found: Floats = ((a * t + b) * t + c) * t + d
        return found

    def level(self) -> Floats:
        """(n,) places between the ends at which the first column has a slope of zero."""
        a, b, c, _ = self.pieces[:, 0].T
        room = b**2 - 3.0 * a * c
        turns = np.flatnonzero(room >= 0.0)
        a, b, c = a[turns], b[turns], c[turns]
        root = -(b + np.copysign(np.sqrt(room[turns]), b))  # no difference of near numbers
        with np.errstate(divide="ignore", invalid="ignore"):
            after = np.stack([root / (3.0 * a), c / root])
        inside = (after >= 0.0) & (after <= np.diff(self.x)[turns])
        found = np.sort((self.x[turns] + after)[inside])
        return found[np.diff(found, prepend=-np.inf) > 0.0]


def hermite(x: Floats, y: Floats, slopes: Floats) -> Floats:
    """(k - 1, ..., 4) coefficients of the cubics with (k, ...) values and slopes at their ends.

    `x` has as many dimensions, of the same size or one.
    """
    h = np.diff(x, axis=0)
    mean = np.diff(y, axis=0) / h
    bend = (slopes[:-1] + slopes[1:] - 2.0 * mean) / h
    found: Floats = np.stack(
        [bend / h, (mean - slopes[:-1]) / h - bend, slopes[:-1], y[:-1]], axis=-1
    )
    return found


def not_a_knot_slopes(x: Floats, y: Floats) -> Floats:
    """(k, ...) slopes at the points of not-a-knot splines; the dimensions are those of `hermite`.

    Continuous second derivatives within; C. de Boor, A Practical Guide to Splines, 1978, ch. IV.
    The first and last equation are put into their neighbours, which leaves a system with a
    dominant diagonal.
    """
    h = np.diff(x, axis=0)
    mean = np.diff(y, axis=0) / h
    if len(x) == 2:
        return np.repeat(mean, 2, axis=0)
    both = h[:-1] + h[1:]
    if len(x) == 3:
        middle = (h[:1] * mean[1:] + h[1:] * mean[:1]) / both
        return np.concatenate([2.0 * mean[:1] - middle, middle, 2.0 * mean[1:] - middle])
    right = 3.0 * (h[1:] * mean[:-1] + h[:-1] * mean[1:])
    first = ((h[0] + 2.0 * both[0]) * h[1] * mean[0] + h[0] ** 2 * mean[1]) / both[0]
    last = ((h[-1] + 2.0 * both[-1]) * h[-2] * mean[-1] + h[-1] ** 2 * mean[-2]) / both[-1]
    middle = 2.0 * both
    middle[0], middle[-1] = both[0], both[-1]
    right[0], right[-1] = right[0] - first, right[-1] - last
    within = _tridiagonal(h[1:].copy(), middle, h[:-1].copy(), right)
    start = (first - both[0] * within[0]) / h[1]
    end = (last - both[-1] * within[-1]) / h[-2]
    return np.concatenate([start[np.newaxis], within, end[np.newaxis]])


def _tridiagonal(lower: Floats, middle: Floats, upper: Floats, right: Floats) -> Floats:
    """(n, ...) solution of rows ``lower x[i-1] + middle x[i] + upper x[i+1] = right``.

    By cyclic reduction of all rows at once: W. Gander and G. H. Golub, Cyclic reduction: history
    and applications, 1997. Each pass doubles the distance between unknowns that still touch.
    """
    lower[0], upper[-1] = 0.0, 0.0
    reach = 1
    while reach < len(middle):
        down = lower[reach:] / middle[:-reach]
        up = upper[:-reach] / middle[reach:]
        whole, known = middle.copy(), right.copy()
        whole[reach:] -= down * upper[:-reach]
        whole[:-reach] -= up * lower[reach:]
        known[reach:] -= down * right[:-reach]
        known[:-reach] -= up * right[reach:]
        farther, beyond = np.zeros_like(lower), np.zeros_like(upper)
        farther[reach:] = -down * lower[:-reach]
        beyond[:-reach] = -up * upper[reach:]
        lower, middle, upper, right = farther, whole, beyond, known
        reach *= 2
    return right / middle

"""Curves through samples that are cheap to read at one time after another."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.errors import InputError
from ascentopt.world.table import Floats


@dataclass(frozen=True)
class Curve:
    """Several quantities against one time, each a cubic between neighbouring knots.

    Attributes:
        starts: times at which the cubics begin.
        pieces: for each of them, for each quantity, c3, c2, c1, c0 in powers of (time - start).
    """

    starts: list[float]
    pieces: list[list[list[float]]]

    @classmethod
    def through(
        cls,
        times: ArrayLike,
        smooth: Sequence[ArrayLike],
        shaped: Sequence[ArrayLike],
    ) -> Curve:
        """Join samples: `smooth` columns by cubic splines, `shaped` ones without overshoot.

        Splines are not-a-knot, four orders exact; the shaped curve is monotone wherever its samples
        are (SciPy's PCHIP). A time given twice is a jump, and the curves on its two sides know
        nothing of each other. Beyond the ends the end cubics go on.

        Raises:
            InputError: when there are no samples.
        """
        x = np.asarray(times, dtype=float)
        if not len(x):
            raise InputError("Curve: times is empty; there must be a sample. Give at least one.")
        columns = np.array([*smooth, *shaped], dtype=float)
        cuts = np.flatnonzero(np.diff(x) <= 0.0) + 1
        starts: list[float] = []
        pieces: list[list[list[float]]] = []
        for rows in np.split(np.arange(len(x)), cuts):
            coefficients = _cubics(x[rows], columns[:, rows], len(smooth))
            starts += x[rows][: len(coefficients)].tolist()
            pieces += coefficients.tolist()
        return cls(starts, pieces)

    def __call__(self, time: float) -> list[float]:
        """All quantities at a time; at a jump, those after it."""
        place = max(bisect_right(self.starts, time) - 1, 0)
        t = time - self.starts[place]
        return [((a * t + b) * t + c) * t + d for a, b, c, d in self.pieces[place]]


def _cubics(x: Floats, columns: Floats, smooth: int) -> Floats:
    """(intervals, quantities, 4) coefficients, highest power first."""
    from scipy.interpolate import CubicSpline, PchipInterpolator

    if len(x) == 1:
        constant = np.zeros((1, len(columns), 4))
        constant[0, :, 3] = columns[:, 0]
        return constant
    made = [CubicSpline(x, column).c for column in columns[:smooth]]
    made += [PchipInterpolator(x, column).c for column in columns[smooth:]]
    return np.stack(made).transpose(2, 0, 1)

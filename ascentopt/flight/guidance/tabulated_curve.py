"""Curves through samples that are cheap to read at one time after another."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.errors import InputError
from ascentopt.typing import Floats


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
        place = self.place(time)
        t = time - self.starts[place]
        return [((a * t + b) * t + c) * t + d for a, b, c, d in self.pieces[place]]

    def place(self, time: float) -> int:
        """Index of the piece that holds at a time; at a jump, of the one after it."""
        return max(bisect_right(self.starts, time) - 1, 0)

    def at(self, times: Floats) -> Floats:
        """(k, quantities) at times (k,)."""
        starts, pieces = self._arrays
        places = np.maximum(np.searchsorted(starts, times, side="right") - 1, 0)
        t = (times - starts[places])[:, np.newaxis]
        a, b, c, d = np.moveaxis(pieces[places], -1, 0)
        found: Floats = ((a * t + b) * t + c) * t + d
        return found

    @cached_property
    def _arrays(self) -> tuple[Floats, Floats]:
        return np.array(self.starts), np.array(self.pieces)


def _cubics(x: Floats, columns: Floats, smooth: int) -> Floats:
    """(intervals, quantities, 4) coefficients, highest power first."""
    if len(x) == 1:
        constant = np.zeros((1, len(columns), 4))
        constant[0, :, 3] = columns[:, 0]
        return constant
    # Imported here: importing the package should not take as long as SciPy does.
    from scipy.interpolate import CubicSpline, PchipInterpolator

    made = [CubicSpline(x, columns[:smooth].T).c]
    if len(columns) > smooth:
        made.append(PchipInterpolator(x, columns[smooth:].T).c)
    return np.concatenate(made, axis=2).transpose(1, 2, 0)

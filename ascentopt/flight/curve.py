"""Curves through samples that are cheap to read at one time after another."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.errors import InputError
from ascentopt.world.monotone import monotone_slopes
from ascentopt.world.spline import hermite, not_a_knot_slopes
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
        are. A time given twice is a jump, and the curves on its two sides know nothing of each
        other. Beyond the ends the end cubics go on.

        Raises:
            InputError: when there are no samples.
        """
        x = np.asarray(times, dtype=float)
        if not len(x):
            raise InputError("Curve: times is empty; there must be a sample. Give at least one.")
        columns = np.array([*smooth, *shaped], dtype=float)
        stretches = np.split(np.arange(len(x)), np.flatnonzero(np.diff(x) <= 0.0) + 1)
        made: list[Floats] = [np.empty(0)] * len(stretches)
        for size in {len(rows) for rows in stretches}:
            alike = [k for k, rows in enumerate(stretches) if len(rows) == size]
            rows = np.stack([stretches[k] for k in alike], axis=1)
            cubics = _cubics(x[rows], np.moveaxis(columns[:, rows], 0, -1), len(smooth))
            for place, k in enumerate(alike):
                made[k] = cubics[:, place]
        starts = [x[rows[: len(one)]] for rows, one in zip(stretches, made, strict=True)]
        return cls(np.concatenate(starts).tolist(), np.concatenate(made).tolist())

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
    """(k - 1, n, quantities, 4) coefficients of n stretches of k samples, highest power first."""
    if len(x) == 1:
        constant = np.zeros((*columns.shape, 4))
        constant[..., 3] = columns
        return constant
    slopes = np.empty_like(columns)
    places = x[..., np.newaxis]
    slopes[..., :smooth] = not_a_knot_slopes(places, columns[..., :smooth])
    for place in np.ndindex(columns[0, :, smooth:].shape):
        stretch, column = place[0], smooth + place[1]
        slopes[:, stretch, column] = monotone_slopes(x[:, stretch], columns[:, stretch, column])
    return hermite(places, columns, slopes)

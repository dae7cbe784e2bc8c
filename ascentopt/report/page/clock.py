"""An axis of time on which long coasts take little room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.report.flown import Flown
from ascentopt.report.page.palette import COAST, SOFT
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SQUEEZED = 0.05
"""Share of the axis that a long coast gets."""

_LEAST = 0.12
"""Share of what the long coasts leave of the axis that any piece between them gets at least."""

_MARGIN = 15.0
"""s of a long coast that are drawn to scale at its either end."""

_FAR = 1e7
"""s. Far outside any flight, where the axis goes on evenly."""


class Clock:
    """Time since lift-off along an axis: even pieces, and the long coasts squeezed between them.

    Attributes:
        edges: (k,) s at which a piece or a squeezed coast begins or ends.
        places: (k,) where they lie on the axis, from 0 to 1.
        coasts: pairs of times between which time is squeezed.
    """

    def __init__(self, end: float, coasts: Sequence[tuple[float, float]]) -> None:
        """A flight of `end` s with squeezed `coasts`."""
        self.coasts = tuple(coasts)
        self.edges = np.array([0.0, *(t for pair in self.coasts for t in pair), end])
        spans = np.diff(self.edges)
        shares = np.full(len(spans), _SQUEEZED)
        room = 1.0 - _SQUEEZED * len(self.coasts)
        shares[::2] = room * _shares(spans[::2])
        self.places = np.concatenate(([0.0], np.cumsum(shares)))

    @classmethod
    def of(cls, flown: Flown) -> Clock:
        """The clock of a flight."""
        pairs = [(c.start + _MARGIN, c.end - _MARGIN) for c in flown.long_coasts]
        return cls(flown.end, pairs)

    def forward(self, time: float | Floats) -> Floats:
        """Places of times; beyond the ends the axis goes on."""
        return np.asarray(np.interp(time, *self._extended))

    def inverse(self, place: float | Floats) -> Floats:
        """Times of places."""
        times, places = self._extended
        return np.asarray(np.interp(place, places, times))

    @property
    def _extended(self) -> tuple[Floats, Floats]:
        times = np.concatenate(([-_FAR], self.edges, [_FAR]))
        return times, np.concatenate(([-_FAR], self.places, [_FAR]))

    def ticks(self, most: int) -> list[float]:
        """Round times on the even pieces, about `most` on the whole axis, one a piece at least."""
        found: list[float] = []
        for k in range(0, len(self.edges) - 1, 2):
            share = float(self.places[k + 1] - self.places[k])
            wanted = max(int(most * share), 1)
            found += round_times(float(self.edges[k]), float(self.edges[k + 1]), wanted)
        return found

    def dress(self, axes: Axes, *, most: int = 8) -> None:
        """Make the axis of x one of time; squeezed coasts are shaded."""
        axes.set_xscale("function", functions=(self.forward, self.inverse))
        axes.set_xlim(0.0, float(self.edges[-1]))
        axes.set_xticks(self.ticks(most))
        axes.set_xticks([], minor=True)
        for start, end in self.coasts:
            axes.axvspan(start, end, facecolor=COAST, edgecolor=SOFT, hatch="//", lw=0, alpha=0.6)

    @property
    def notes(self) -> list[str]:
        """What the hatching means; empty where nothing is squeezed."""
        spans = ", ".join(f"{start:.0f} to {end:.0f} s" for start, end in self.coasts)
        return [f"Time is squeezed where it is hatched: coast, {spans}."] if spans else []


def _shares(spans: Floats) -> Floats:
    """Shares in proportion to the spans, none below the least."""
    shares: Floats = np.maximum(spans / spans.sum(), _LEAST)
    large = shares > _LEAST
    shares[large] *= (1.0 - _LEAST * np.count_nonzero(~large)) / shares[large].sum()
    return shares


def round_times(start: float, end: float, most: int) -> list[float]:
    """Multiples of 1, 2 or 5 times a power of ten between two times: at most so many, but one."""
    step = 10.0 ** np.ceil(np.log10(end - start))
    found: list[float] = []
    for factor in (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01):
        finer = _multiples(factor * step, start, end)
        if found and len(finer) > most:
            break
        found = finer
    return found


def _multiples(step: float, start: float, end: float) -> list[float]:
    first, last = np.ceil(start / step - 1e-9), np.floor(end / step + 1e-9)
    return [float(k * step) for k in np.arange(first, last + 0.5)]

"""A broken line with few knots through the pitch of an optimal ascent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against
from ascentopt.typing import Floats
from ascentopt.units import deg

_PLACES = 80  # where a knot may be; finer than knots that make a difference are apart
_STEEPEST = 90.0 * deg
_SLIVER = 1e-6  # of the whole range: abscissae closer than this are one


@dataclass(frozen=True, eq=False, kw_only=True)
class PitchCurve:
    """Pitch of the thrust against an abscissa, from the pitch-over to the cut-off.

    Attributes:
        against: what is counted.
        at: (n,) s or m, increasing.
        pitch: (n,) rad.
        weight: (n,) m/s that the engines give there: how much a wrong pitch matters.
    """

    against: Against
    at: Floats
    pitch: Floats
    weight: Floats

    @property
    def span(self) -> float:
        """From the first to the last abscissa."""
        return float(self.at[-1] - self.at[0])

    def error(self, knots: Knots) -> Floats:
        """(n,) rad by which a programme differs."""
        return np.asarray(knots.pitch(self.at) - self.pitch)

    def fitted(self, count: int) -> Knots:
        """The best broken line with knots on the curve, then moved off it by least squares."""
        places = self._places(count)
        hats = np.array([np.interp(self.at, self.at[places], row) for row in np.eye(count)]).T
        root = np.sqrt(self.weight)
        pitches = np.linalg.lstsq(root[:, None] * hats, root * self.pitch, rcond=None)[0]
        return self._knots(self.at[places], pitches)

    def places(self, count: int) -> list[float]:
        """So many abscissae between which the engines give equally much speed, ends left out."""
        given = np.cumsum(self.weight)
        asked = given[-1] * (np.arange(count) + 0.5) / count
        return [float(self.at[k]) for k in np.unique(np.searchsorted(given, asked))]

    def _knots(self, places: Floats, pitches: Floats) -> Knots:
        return Knots(
            against=self.against,
            abscissae=tuple(map(float, places)),
            pitches=tuple(float(min(p, _STEEPEST)) for p in pitches),
        )

    def _places(self, count: int) -> Floats:
        """(count,) indices of the knots of least loss: shortest path over all ways to choose."""
        chosen = np.unique(np.linspace(0, len(self.at) - 1, _PLACES).astype(int))
        number = len(chosen)
        chord = self._chord_losses(chosen)
        before = self.weight * (self.pitch - self.pitch[chosen][:, None]) ** 2
        ends = np.arange(len(self.at))
        best = [np.where(ends < chosen[:, None], before, 0.0).sum(axis=1)]
        came = []
        for _ in range(count - 1):
            ways = best[-1][:, None] + chord
            came.append(np.argmin(ways, axis=0))
            best.append(ways[came[-1], np.arange(number)])
        last = int(np.argmin(best[-1] + np.where(ends > chosen[:, None], before, 0.0).sum(axis=1)))
        path = [last]
        for step in reversed(came):
            path.append(int(step[path[-1]]))
        return chosen[path[::-1]]

    def _chord_losses(self, chosen: Floats) -> Floats:
        """(m, m) loss of a straight line from one place to a later one; infinite backwards."""
        losses = np.full((len(chosen), len(chosen)), np.inf)
        for i, first in enumerate(chosen):
            for j, last in enumerate(chosen[i + 1 :], i + 1):
                own = slice(first, last)
                line = np.interp(self.at[own], self.at[[first, last]], self.pitch[[first, last]])
                losses[i, j] = float(self.weight[own] @ (line - self.pitch[own]) ** 2)
        return losses


def pitch_curve(ascent: Ascent, against: Against, names: tuple[str, ...]) -> PitchCurve:
    """The optimum's pitch on the arcs with these names."""
    track = Trajectory(arcs=tuple(arc for arc in ascent.trajectory.arcs if arc.name in names))
    at = track.time if against is Against.TIME else track.altitude
    seconds = np.concatenate([_shares(arc) for arc in track.arcs])
    weight = np.nan_to_num(track.thrust / track.mass) * seconds
    # Only where it rises: an altimeter that sinks shows old readings again.
    peaks = np.maximum.accumulate(at)
    rising = np.concatenate([[True], peaks[1:] > peaks[:-1] + _SLIVER * (at.max() - at.min())])
    return PitchCurve(
        against=against, at=at[rising], pitch=track.pitch[rising], weight=weight[rising]
    )


def _shares(arc: TrajectoryArc) -> Floats:
    """(k,) s that each sample of an arc stands for."""
    steps = np.diff(arc.times)
    return np.asarray(0.5 * (np.append(steps, 0.0) + np.append(0.0, steps)))

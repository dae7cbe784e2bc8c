"""A programme through the air beside the optimum's: its pitch, shifted by a line with few knots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, sin

import numpy as np

from ascentopt.guided.aims import Aim, Tabled
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.typing import Floats


@dataclass(frozen=True)
class PitchShift:
    """What is added to the pitch of the table, linear between knots and constant beyond.

    Args:
        times: (k + 1,) s since lift-off; nothing is added up to the first.
        shifts: (k + 1,) rad at them, the first of them zero.
    """

    times: tuple[float, ...]
    shifts: tuple[float, ...]

    def at(self, times: Floats) -> Floats:
        """(n,) rad at times in s since lift-off as planned."""
        return np.interp(times, self.times, self.shifts)

    def flown_by(self, flight: DispersedFlight) -> DispersedFlight:
        """The flight by the shifted table; arcs keep their clocks, and guidance takes over where it
        did.
        """
        arcs = zip(flight.prepared.arcs, flight.prepared.aims, strict=True)
        aims = tuple(self._shifted(aim, arc.began) for arc, aim in arcs)
        return replace(flight, prepared=replace(flight.prepared, aims=aims))

    def _shifted(self, aim: Aim | None, began: float) -> Aim | None:
        if not isinstance(aim, Tabled):
            return aim
        shifts = self.at(began + np.array(aim.knots))
        pairs = zip(aim.rows, shifts, strict=True)
        return replace(aim, rows=tuple(_turned(row, float(by)) for row, by in pairs))


Row = tuple[float, float, float, float]


def _turned(row: Row, by: float) -> Row:
    """Up, east, north and throttle with the direction raised by an angle, its heading kept.

    A vertical direction has no heading and stays.
    """
    up, east, north, throttle = row
    level = hypot(east, north)
    if level == 0.0:
        return row
    pitch, length = atan2(up, level) + by, hypot(up, level)
    scale = length * cos(pitch) / level
    return length * sin(pitch), east * scale, north * scale, throttle


def steered_span(flight: DispersedFlight) -> tuple[float, float]:
    """From when on the table steers, and when guidance takes over as planned: s since lift-off."""
    arcs, legs = flight.prepared.arcs, flight.prepared.legs
    tabled = [k for k, aim in enumerate(flight.prepared.aims) if isinstance(aim, Tabled)]
    begin = arcs[tabled[0]].began if tabled else 0.0
    return begin, max(arcs[legs[0].first].began + legs[0].since, begin)

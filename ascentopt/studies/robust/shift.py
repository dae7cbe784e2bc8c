"""A programme through the air beside the optimum's: its pitch, shifted by a line with few knots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, sin

import numpy as np

from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.plan.tables import aim_of
from ascentopt.guided.steps.aims import Tabled
from ascentopt.steering import SteeringSegment, TabulatedSteering
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

    def flown_by(self, flight: DispersedFlight, table: TabulatedSteering) -> DispersedFlight:
        """The flight by the table, shifted; guidance takes over where it did.

        What the table counts on the way, speed for instance, is that of the planned flight.
        """
        prepared = flight.prepared
        abscissa, axis = prepared.guidance.abscissa, table.axis
        pairs = zip(prepared.arcs, table.segments, strict=True)
        aims = tuple(
            aim_of(arc, self._shifted(segment, arc.began), abscissa, axis) for arc, segment in pairs
        )
        return replace(flight, prepared=replace(prepared, aims=aims))

    def _shifted(self, segment: SteeringSegment, began: float) -> SteeringSegment:
        rows = zip(segment.up, segment.east, segment.north, strict=True)
        shifts = self.at(began + np.array(segment.times))
        turned = [_turned(row, float(by)) for row, by in zip(rows, shifts, strict=True)]
        up, east, north = zip(*turned, strict=True) if turned else ((), (), ())
        return replace(segment, up=up, east=east, north=north)


Direction = tuple[float, float, float]


def _turned(row: Direction, by: float) -> Direction:
    """Up, east and north raised by an angle, the heading kept; the vertical has none and stays."""
    up, east, north = row
    level = hypot(east, north)
    if level == 0.0:
        return row
    pitch, length = atan2(up, level) + by, hypot(up, level)
    scale = length * cos(pitch) / level
    return length * sin(pitch), east * scale, north * scale


def steered_span(flight: DispersedFlight) -> tuple[float, float]:
    """From when on and until when the table steers as planned: s since lift-off; 0 for never."""
    prepared = flight.prepared
    leg = prepared.legs[0]
    spans = [
        (arc.began, arc.began + (leg.since if k == leg.first else arc.length))
        for k, (arc, aim) in enumerate(zip(prepared.arcs, prepared.aims, strict=True))
        if isinstance(aim, Tabled) and k <= leg.first
    ]
    steered = [(begin, end) for begin, end in spans if end > begin]
    return (steered[0][0], steered[-1][1]) if steered else (0.0, 0.0)

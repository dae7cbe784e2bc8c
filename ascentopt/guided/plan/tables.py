"""The planned direction as a table against what it is to be flown by."""

from __future__ import annotations

import numpy as np

from ascentopt.flight.dynamics.local_frame import Axis
from ascentopt.guided.plan.planned_arc import PlannedArc
from ascentopt.guided.steps.aims import Abscissa, Aim, AirSpeed, Altitude, Tabled, Upright
from ascentopt.steering.table.segment import SteeringSegment
from ascentopt.typing import Floats

EVERY = 0.25
"""s between knots: a direction that turns by a degree per second, twice as fast a second later, is
missed by 1e-4 rad between them."""

_APART = 1e-6
"""Of the abscissa's span: knots closer than that are parted, since a table must rise. A jump
becomes as steep."""


def aim_of(
    planned: PlannedArc, segment: SteeringSegment, abscissa: Abscissa, axis: Axis
) -> Aim | None:
    """What steers an arc before guidance does; None where nothing burns."""
    if not planned.arc.burning:
        return None
    if planned.upright and not planned.kind.throttled:
        return Upright()
    times = _times(planned, segment)
    rows = segment.curve.at(times)
    knots = _rising(_counted(planned, abscissa, times))
    kept = np.concatenate([[True], np.diff(knots) > 0.0])
    pairs = tuple(map(tuple, rows[kept].tolist()))
    return Tabled(abscissa, tuple(knots[kept].tolist()), pairs, axis)


def _times(planned: PlannedArc, segment: SteeringSegment) -> Floats:
    """(n,) s into the arc, both sides of its jumps among them."""
    count = max(int(np.ceil(planned.length / EVERY)), 1)
    own = np.asarray(segment.times)
    jumps = own[1:][np.diff(own) <= 0.0]
    even = np.linspace(0.0, max(planned.length, EVERY), count + 1)
    return np.sort(np.concatenate([even, jumps, np.nextafter(jumps, 0.0)]))


def _counted(planned: PlannedArc, abscissa: Abscissa, times: Floats) -> Floats:
    """(n,) what the planned flight's abscissa was at the times."""
    if isinstance(abscissa, AirSpeed | Altitude):
        readings, flown = planned.readings, planned.flown.times - planned.began
        column = readings.air_speed if isinstance(abscissa, AirSpeed) else readings.altitude
        return np.asarray(np.interp(times, flown, column))
    return times


def _rising(values: Floats) -> Floats:
    """(n,) the same, made to increase where it does not."""
    span = max(float(values[-1] - values[0]), 1.0)
    steps = np.maximum(np.diff(values), _APART * span)
    return np.concatenate([values[:1], values[0] + np.cumsum(steps)])

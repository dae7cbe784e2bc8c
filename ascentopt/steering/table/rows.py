"""A steering table as rows, with all that another simulator must be told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate

from ascentopt.flight.dynamics.local_frame import SPIN, Axis
from ascentopt.steering.table.context import SteeringContext, SteeringEvent
from ascentopt.steering.table.segment import SteeringSegment
from ascentopt.tables import Cell, Table
from ascentopt.units import deg

_COLUMNS = (
    ("arc", ""), ("event", ""), ("burning", ""), ("time", "s"), ("altitude", "m"),
    ("air_speed", "m/s"), ("pitch", "deg"), ("heading", "deg"), ("up", "-"), ("east", "-"),
    ("north", "-"), ("throttle", "-"), ("mass_before", "kg"), ("mass_after", "kg"),
)  # fmt: skip

_SAMPLES = len(_COLUMNS) - 6  # columns of numbers between time and masses, both left out

_READING = """\
Steering table. Preliminary analysis only: not for the control of a real launch.

A row without an event is a sample: where the thrust points at a time, in s since lift-off.
A row with an event says what happens as its arc ends (lift-off: as the first one begins).
Arcs follow one another without a gap, and the clock ends each: at the time of its event.
Engines are off on an arc without samples.

burning: what burns on the arc: the stage, then groups of boosters.
throttle: fraction of the vacuum thrust and the propellant flow of the stage. Boosters burn at
full thrust, solid motors along their curves from their ignition on. Thrust is vacuum thrust
times throttle, less the pressure of the air times the exit area.
mass_before, mass_after: at the event, in kg. What leaves is dropped, propellant left in it too.
up, east, north: components of the direction of thrust, a unit vector. Up is normal to the
ellipsoid at the place where the vehicle is at that time, east is z x up, north is up x east, z
the spin axis. The direction is not relative to the air: it is not an angle of attack.
pitch: the same in degrees above the local horizontal; heading: from north, clockwise.
altitude above the ellipsoid and air_speed are what the optimum has there, for the reader.

Between the samples of an arc each of up, east and north is a cubic spline against time
(not-a-knot; through two samples a line, through three a parabola), and together they are scaled
to length one; throttle is a monotone cubic (PCHIP). A time that an arc has twice is a jump: what
comes before and after it are curves of their own.

Inertial frame: origin in the centre of the body, z along its spin axis. The vehicle stands on
the pad at time 0 and moves with it.

"""

_OTHER_AXIS = """\
The path comes near a pole: z is here the inertial unit vector ({!r}, {!r}, {!r})
and not the spin axis; "north" is the way to the point of the sky that it points to.

"""

_UNKNOWN = "Nobody said for which vehicle and mission the table was made: masses are missing."


def steering_table(
    segments: Sequence[SteeringSegment], axis: Axis, context: SteeringContext | None
) -> Table:
    """Samples and events of the segments, in the order of time."""
    known = _nothing_known(segments) if context is None else context
    other = [] if axis == SPIN else [_OTHER_AXIS.format(*axis)]
    return Table.of("steering", _COLUMNS, _rows(segments, known), [_READING, *other, *known.notes])


def _nothing_known(segments: Sequence[SteeringSegment]) -> SteeringContext:
    """Of a table that nobody said the vehicle of: when its arcs end."""
    ends = accumulate(one.duration for one in segments)
    return SteeringContext(
        notes=(_UNKNOWN,),
        burning=("",) * len(segments),
        events=tuple(
            SteeringEvent(arc=one.arc, name="end of arc", time=end)
            for one, end in zip(segments, ends, strict=True)
        ),
    )


def _rows(
    segments: Sequence[SteeringSegment], known: SteeringContext
) -> Iterator[tuple[Cell, ...]]:
    began = 0.0
    yield from (_event_row(one) for one in known.events if one.time <= 0.0)
    for segment, burning in zip(segments, known.burning, strict=False):
        yield from _sample_rows(segment, began, burning)
        own = (one for one in known.events if one.arc == segment.arc and one.time > 0.0)
        yield from map(_event_row, own)
        began += segment.duration


def _sample_rows(
    segment: SteeringSegment, began: float, burning: str
) -> Iterator[tuple[Cell, ...]]:
    one = segment
    angles = ([angle / deg for angle in own] for own in (one.pitch, one.heading))
    times = [began + time for time in one.times]
    columns = (times, one.altitude, one.speed, *angles, one.up, one.east, one.north, one.throttle)
    for numbers in zip(*columns, strict=True):
        yield (one.arc, None, burning, *numbers, None, None)


def _event_row(event: SteeringEvent) -> tuple[Cell, ...]:
    masses = event.mass_before, event.mass_after
    return (event.arc, event.name, None, event.time, *(None,) * _SAMPLES, *masses)

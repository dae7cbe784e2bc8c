"""Angles to pass through: the second part of a flight card."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ascentopt.flight.results.telemetry import Readings
from ascentopt.report.flown import Flown, Stretch
from ascentopt.report.page.clock import round_times
from ascentopt.typing import Floats
from ascentopt.units import km

_ROUND = (0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0,
          70.0, 80.0, 90.0, 100.0, 120.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0)  # fmt: skip
"""km. Altitudes that a person can keep in mind."""

_ROUNDEST = (0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 70.0, 100.0, 150.0, 200.0, 300.0)
"""km. Those of them that are kept where there is no room for all."""

_WORTH_TIMES = 60.0
"""s of burning above the last round altitude from which round times are given, too."""

_NEWTON_STEPS = 5
"""From the middle of a step of the integrator three are enough."""


def waypoints(flown: Flown, most: int) -> list[Readings]:
    """Readings to fly by, about `most`, in the order of time.

    Round altitudes while the flight climbs through the air (on a body without air: to the end of
    the burns before the first coast at the inserting stage), then round times, the cut-off, and the
    two ends of every later burn.
    """
    climb_end = _first_burn(flown).end
    later = list(_later_burns(flown))
    low = list(_altitudes(flown, climb_end))
    last = float(low[-1].time) if low else 0.0
    room = max(most - len(later), 4)
    long = climb_end - last > _WORTH_TIMES
    times = round_times(last + 1.0, climb_end, max(room // 3, 2)) if long else []
    low = _thinned(low, room - len(times) - 1)
    timed = [flown.trajectory.at(time) for time in times if time < climb_end - 1.0]
    cut_off = Readings.of(flown.trajectory.arcs[_first_burn(flown).last].readings[-1])
    return [*low, *(t for t in timed if np.isfinite(t.pitch)), cut_off, *later]


def _first_burn(flown: Flown) -> Stretch:
    """The first burn of the inserting stage."""
    last_stage = flown.stretches[-1].stage
    return next(s for s in flown.stretches if s.burning and s.stage == last_stage)


def _altitudes(flown: Flown, end: float) -> Iterator[Readings]:
    """Readings at each round altitude, the first time that it is passed with engines on."""
    track, air = flown.trajectory, flown.mission.body.atmosphere
    ceiling = air.ceiling if air is not None else np.inf
    heights = track.altitude[track.time <= end]
    asked = [a * km for a in _ROUND if a * km <= ceiling and heights[0] < a * km < heights.max()]
    if not asked:
        return
    table = track.at(passing(flown, np.array(asked), heights)).table
    yield from (Readings.of(row) for row in table if np.isfinite(Readings.of(row).pitch))


def passing(flown: Flown, asked: Floats, heights: Floats) -> Floats:
    """When each of the altitudes is first passed: Newton's method between the samples around it."""
    track = flown.trajectory
    after = np.array([int(np.argmax(heights > altitude)) for altitude in asked])
    low, high = track.time[after - 1], track.time[after]
    times: Floats = 0.5 * (low + high)
    for _ in range(_NEWTON_STEPS):
        found = track.at(times)
        step = (found.altitude - asked) / np.maximum(found.vertical_speed, 1e-3)
        times = np.asarray(np.clip(times - step, low, high))
    return times


def _later_burns(flown: Flown) -> Iterator[Readings]:
    """Both ends of every burn after the first cut-off of the inserting stage."""
    cut_off = _first_burn(flown).end
    for stretch in flown.stretches:
        if stretch.burning and stretch.start >= cut_off:
            for arc, row in ((stretch.first, 0), (stretch.last, -1)):
                yield Readings.of(flown.trajectory.arcs[arc].readings[row])


def _thinned(readings: Sequence[Readings], most: int) -> list[Readings]:
    """At most so many of them: all, the roundest, or of these some, evenly, and the last always."""
    if len(readings) > most:
        readings = [r for r in readings if round(float(r.altitude) / km, 3) in _ROUNDEST]
    if len(readings) <= most:
        return list(readings)
    chosen = np.unique(np.linspace(0, len(readings) - 1, max(most, 2)).round().astype(int))
    return [readings[k] for k in chosen]

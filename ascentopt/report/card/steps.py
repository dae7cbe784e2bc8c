"""What there is to do on a flight, and when: the first part of a flight card."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf

import numpy as np

from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.report.flown import Flown, Stretch
from ascentopt.steering.gravity_turn import kick_of
from ascentopt.units import deg, km, kPa

UPRIGHT = 89.98 * deg
"""rad. A thrust that leans less has no heading: more than rounding, less than anyone sees."""

_SETTLED = 5.0
"""s after the beginning of a smooth turn at which the card says how far it should have come."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """One line: when and where, what happens, and what to do.

    `time` s, `altitude` m, `air_speed` and `speed` (inertial) m/s.
    """

    time: float
    altitude: float
    air_speed: float
    speed: float
    event: str
    action: str

    @classmethod
    def at(cls, point: Readings, event: str, action: str) -> Step:
        """The step at a point of the flight."""
        return cls(
            time=float(point.time),
            altitude=float(point.altitude),
            air_speed=float(point.air_speed),
            speed=float(point.speed),
            event=event,
            action=action,
        )


def steps(flown: Flown) -> list[Step]:
    """Every step from lift-off to the end, in the order of time."""
    found = [_lift_off(flown), *_turn(flown), *_peak(flown), *_joints(flown)]
    return sorted(found, key=lambda step: step.time)


def _lift_off(flown: Flown) -> Step:
    start = Readings.of(flown.trajectory.arcs[0].readings[0])
    force, weight = float(start.thrust), float(start.mass * start.gravity)
    way = "Rise straight up" if _rises(flown) else "Steer from the first moment"
    action = (
        f"Thrust {force / weight:.2f} times the weight. {way}; burn "
        f"{span_text(flown.stretches[0])}."
    )
    return Step.at(start, "lift-off", action)


def _rises(flown: Flown) -> bool:
    return flown.sequence.arcs[0].kind.guidance is Guidance.VERTICAL or bool(
        np.nan_to_num(flown.trajectory.pitch[0], nan=0.0) > UPRIGHT
    )


def turn_start(flown: Flown) -> int | None:
    """Index of the last sample that points straight up; None for a flight that never does."""
    pitch = flown.trajectory.pitch
    upright = ~(pitch < UPRIGHT)  # an angle that is not known is no lean
    if not upright[0] or np.all(upright):
        return None
    return int(np.argmin(upright)) - 1


def _turn(flown: Flown) -> Iterator[Step]:
    """The pitch-over: a kick, a jump, or the beginning of a smooth turn."""
    start = turn_start(flown)
    if start is None:
        return
    track = flown.trajectory
    here, after = Readings.of(track.table[start]), Readings.of(track.table[start + 1])
    kick = kick_of(flown.law)
    if kick is not None:
        action = (
            f"Kick: tip over by {kick.angle / deg:.2f} deg towards heading "
            f"{kick.heading / deg:.1f} deg in {kick.angle / kick.rate:.1f} s, hold until the "
            "motion has come round, then follow it."
        )
    elif float(after.time) == float(here.time):
        action = (
            f"Tip over at once to {after.pitch / deg:.1f} deg above the horizon, heading "
            f"{after.heading / deg:.1f} deg."
        )
    else:
        later = track.at(min(float(here.time) + _SETTLED, flown.end))
        action = (
            f"Begin to tip over, heading {later.heading / deg:.1f} deg; be at "
            f"{later.pitch / deg:.1f} deg above the horizon {_SETTLED:g} s later."
        )
    yield Step.at(here, "pitch-over", action)


def _peak(flown: Flown) -> Iterator[Step]:
    peak = flown.trajectory.peak(Trajectory.dynamic_pressure)
    if peak.value > 0.0:
        text = f"Greatest dynamic pressure, {peak.value / kPa:.1f} kPa."
        yield Step.at(peak.readings, "max dynamic pressure", text)


def _joints(flown: Flown) -> Iterator[Step]:
    """What happens at the end of each arc, but for the end of the vertical rise."""
    for index, arc in enumerate(flown.sequence.arcs):
        track = flown.trajectory.arcs[index]
        point = Readings.of(track.readings[-1])
        if arc.rise is None:
            last = index == len(flown.sequence.arcs) - 1
            event = flown.ending if last else arc.joint.event
            yield Step.at(point, event, _action(flown, index, point))


def _action(flown: Flown, index: int, point: Readings) -> str:
    """What to do at the end of an arc, and what follows."""
    arc, following = flown.sequence.arcs[index], _stretch_from(flown, index + 1)
    before = float(point.mass)
    after = arc.joint.mass(before)
    if arc.joint.fairing:
        done = f"Drop the fairing, {before - after:.0f} kg, at {float(point.heating):.0f} W/m2."
    elif arc.joint.staging:
        done = f"Drop {before - after:.0f} kg; {after:.0f} kg fly on."
    elif index == len(flown.sequence.arcs) - 1:
        reached = "in an orbit" if flown.in_orbit else "in no orbit: on a path"
        return f"Shut down, {reached} of {orbit_text(flown, index)}."
    elif following is None:
        return "The next engines light."
    else:
        done = "" if following.burning else _cut_off(flown, index)
    if following is None:
        return done
    ahead = f"Light; burn {span_text(following)}" if following.burning else "Coast "
    ahead += "" if following.burning else span_text(following)
    return f"{done} {ahead}.".strip()


def _cut_off(flown: Flown, index: int) -> str:
    low, high = _apsides(flown, index)
    periapsis = f"periapsis {low / km:.1f} km"
    if isinf(high):
        return f"Shut down when the {periapsis} belongs to an open orbit."
    return f"Shut down when the apoapsis is {high / km:.1f} km ({periapsis})."


def _stretch_from(flown: Flown, index: int) -> Stretch | None:
    """The burn or coast that begins with an arc; None where none does."""
    return next((stretch for stretch in flown.stretches if stretch.first == index), None)


def orbit_text(flown: Flown, index: int) -> str:
    """Periapsis and apoapsis altitude after an arc."""
    low, high = _apsides(flown, index)
    return f"{low / km:.1f} x {'an open orbit' if isinf(high) else f'{high / km:.1f} km'}"


def _apsides(flown: Flown, index: int) -> tuple[float, float]:
    """Altitudes in m of periapsis and apoapsis after an arc, above the equatorial radius."""
    orbit = flown.orbit_at(flown.trajectory.arcs[index].states[-1])
    radius = flown.mission.body.radius
    return orbit.periapsis_radius - radius, orbit.apoapsis_radius - radius


def span_text(stretch: Stretch) -> str:
    """How long a burn or coast lasts: hundredths of a second where they matter."""
    digits = 2 if stretch.duration < 10.0 else 1
    return f"{stretch.duration:.{digits}f} s"

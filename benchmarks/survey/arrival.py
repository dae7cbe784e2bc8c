"""What it takes to go into the target orbit from a point of a flight, for many flights at once."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.units import STANDARD_GRAVITY
from benchmarks.survey.surroundings import Floats, Surroundings

# Of bisection between two instants of a burn: the last one is shorter than a millisecond.
_HALVINGS = 12

# A height missed by less counts as reached.
_CLOSE = 100.0  # m

# Times the orbit's angular rate: m/s that a metre is worth which stays missing, as in the library.
_WORTH = 4.0

# A burn this short moves the vehicle little: it may stand as an impulse. Longer ones are made dear.
_SHORT_BURN = 10.0  # s


@dataclass(frozen=True)
class Instant:
    """Positions and velocities (n, 3), and masses (n) in kg with the fairing where it is on."""

    r: Floats
    v: Floats
    mass: Floats
    empty: Floats

    def between(self, later: Instant, share: Floats, duration: float) -> Instant:
        """At a share (n) of the way to a later instant, `duration` s on: cubic in position.

        A fairing that went on the way is gone from the start: it is no propellant.
        """
        s = share[:, None]
        h00, h10 = (1.0 + 2.0 * s) * (1.0 - s) ** 2, s * (1.0 - s) ** 2
        h01, h11 = s**2 * (3.0 - 2.0 * s), s**2 * (s - 1.0)
        r = h00 * self.r + h01 * later.r + duration * (h10 * self.v + h11 * later.v)
        v = self.v + s * (later.v - self.v)
        bare = self.mass - (self.empty - later.empty)
        mass = bare + share * (later.mass - bare)
        return Instant(r, v, mass, later.empty)


@dataclass(frozen=True)
class Way:
    """Into the orbit: arrays (n) of the impulse and what its burn costs, m/s, and a height missed.

    The impulse is what would do if it came from outside, at a point.
    """

    impulse: Floats
    cost: Floats
    miss: Floats


@dataclass(frozen=True)
class Arrival:
    """The target orbit and the last stage that goes into it."""

    vehicle: Vehicle
    mission: Mission

    def spare(self, now: Instant) -> Floats:
        """Speed to spare (n) in m/s if the flight went into its orbit from here.

        Negative, it is what the flight misses: the impulse that is missing and, as a vector with
        it, what a missing height is worth. Then a lack of height is no lack of an orbit's worth.
        """
        exhaust = STANDARD_GRAVITY * self.vehicle.stages[-1].engine.vacuum_isp
        left = exhaust * np.log(np.maximum(now.mass, now.empty) / now.empty)
        spare = self._spare_by(left, self._impulse_here(now))
        if self.vehicle.stages[-1].restarts:
            spare = np.maximum(spare, self._spare_by(left, self._impulse_at_apoapsis(now)))
        return spare

    def _spare_by(self, left: Floats, way: Way) -> Floats:
        strict = left - way.cost - self._height_penalty(way.miss)
        without = np.minimum(way.impulse, np.maximum(way.cost - left, 0.0))
        short = -np.hypot(without, _WORTH * self._rate * way.miss)
        spare: Floats = np.where(strict < 0.0, np.maximum(strict, short), strict)
        return spare

    @property
    def _rate(self) -> float:
        """Of the target's lowest circle, rad/s."""
        low, _ = self._apsides()
        return sqrt(self.mission.body.gravitational_parameter / low**3)

    def spare_between(self, before: Instant, after: Instant, duration: float) -> Floats:
        """Speed to spare (n) where the apoapsis passes the target's lowest height, else -inf."""
        low, _ = self._apsides()
        crossed = (self._apoapsis(before) < low) & (self._apoapsis(after) >= low)
        if not np.any(crossed):
            return np.full(len(crossed), -np.inf)
        lower, upper = np.zeros(len(crossed)), np.ones(len(crossed))
        for _ in range(_HALVINGS):
            middle = 0.5 * (lower + upper)
            short = self._apoapsis(before.between(after, middle, duration)) < low
            lower, upper = np.where(short, middle, lower), np.where(short, upper, middle)
        there = before.between(after, upper, duration)
        return np.where(crossed, self.spare(there), -np.inf)

    def course(self, up: Floats, level: Floats) -> Floats:
        """Unit horizontal directions (n, 3) of motion in the target's plane, here."""
        east = np.cross([0.0, 0.0, 1.0], up)
        cosine = np.maximum(np.linalg.norm(east, axis=1), 1e-9)
        east /= cosine[:, None]
        north = np.cross(up, east)
        inclination = self.mission.orbit.inclination
        if inclination is None:
            speed = np.linalg.norm(level, axis=1)
            spin = 1.0 if self.mission.body.rotation_rate >= 0.0 else -1.0
            moving: Floats = level / np.maximum(speed, 1e-9)[:, None]
            chosen: Floats = np.where((speed > 1.0)[:, None], moving, spin * east)
            return chosen
        eastward = np.clip(np.cos(inclination) / cosine, -1.0, 1.0)
        # Northbound, and southbound once the highest latitude is passed.
        bound = np.where(np.einsum("ij,ij->i", level, north) < -50.0, -1.0, 1.0)
        northward = bound * np.sqrt(1.0 - eastward**2)
        course: Floats = eastward[:, None] * east + northward[:, None] * north
        return course

    def wanted(self, radius: Floats) -> tuple[Floats, Floats]:
        """Horizontal and (unsigned) vertical speed (n) in m/s in the target at a radius."""
        low, high = self._apsides()
        mu = self.mission.body.gravitational_parameter
        momentum = sqrt(2.0 * mu * low * high / (low + high))
        inside = np.clip(radius, low, high)
        level = momentum / inside
        squared = mu * (2.0 / inside - 2.0 / (low + high)) - level**2
        return level, np.sqrt(np.maximum(squared, 0.0))

    def _apsides(self) -> tuple[float, float]:
        body, orbit = self.mission.body, self.mission.orbit
        low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
        if low is None or high is None:
            raise ValueError("the search needs an orbit of known size and shape")
        return low, high

    def _impulse_here(self, now: Instant) -> Way:
        radius = np.linalg.norm(now.r, axis=1)
        up = now.r / radius[:, None]
        vertical = np.einsum("ij,ij->i", now.v, up)
        level = now.v - vertical[:, None] * up
        course = self.course(up, level)
        wanted, across, miss = self._target(now.r, np.cross(now.r, course), vertical)
        sideways = np.linalg.norm(wanted[:, None] * course - level, axis=1)
        impulse = np.hypot(sideways, across)
        long = np.maximum(self._burn_time(impulse, now) - _SHORT_BURN, 0.0)
        return Way(impulse, impulse * (1.0 + long / _SHORT_BURN), miss)

    def _target(
        self, r: Floats, momentum: Floats, vertical: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Level speed wanted at positions (n, 3), the vertical speed missing, and height, m.

        The motion is about ``momentum`` (n, 3). Where the target says where its periapsis lies, a
        place has one radius and one vertical speed; otherwise the orbit may be turned to suit it.
        """
        radius = np.linalg.norm(r, axis=1)
        low, high = self._apsides()
        turned = getattr(self.mission.orbit, "argument_of_periapsis", None)
        if turned is None:
            wanted, rising = self.wanted(radius)
            miss = np.maximum(np.maximum(low - radius, radius - high) - _CLOSE, 0.0)
            return wanted, np.abs(vertical) - rising, miss
        mu, eccentricity = self.mission.body.gravitational_parameter, (high - low) / (high + low)
        angle = _from_the_node(r, momentum) - turned
        there = 2.0 * low * high / (low + high) / (1.0 + eccentricity * np.cos(angle))
        h = sqrt(2.0 * mu * low * high / (low + high))
        across = vertical - mu / h * eccentricity * np.sin(angle)
        return h / there, across, np.maximum(np.abs(there - radius) - _CLOSE, 0.0)

    def _burn_time(self, impulse: Floats, now: Instant) -> Floats:
        """How long (n) in s the last stage needs for an impulse: at the mass it has now."""
        push = self.vehicle.stages[-1].engine.mean_thrust / now.mass
        most = self.mission.limits.axial_acceleration
        time: Floats = impulse / (push if most is None else np.minimum(push, most))
        return time

    def _height_penalty(self, miss: Floats) -> Floats:
        """For heights missed by m (n), m/s: always far more than to fly there.

        Three times the transfer's cost for a miss of metres, and quadratic beyond some hundred
        metres, so that speed in plenty cannot buy a height that the flight does not reach.
        """
        penalty: Floats = 3.0 * self._rate * miss * (1.0 + miss / (2.0 * _CLOSE))
        return penalty

    def _apoapsis(self, now: Instant) -> Floats:
        """Highest radius (n) in m of the ellipse flown now."""
        axis, eccentricity, _ = self._ellipse(now)
        highest: Floats = axis * (1.0 + eccentricity)
        return highest

    def _ellipse(self, now: Instant) -> tuple[Floats, Floats, Floats]:
        """Semi-major axis in m, eccentricity, and angular momentum vector (n, 3) in m^2/s."""
        mu = self.mission.body.gravitational_parameter
        momentum = np.cross(now.r, now.v)
        energy = 0.5 * np.sum(now.v**2, axis=1) - mu / np.linalg.norm(now.r, axis=1)
        axis = -mu / (2.0 * np.minimum(energy, -1.0))
        squared = np.sum(momentum**2, axis=1)
        return axis, np.sqrt(np.maximum(1.0 - squared / (mu * axis), 0.0)), momentum

    def _impulse_at_apoapsis(self, now: Instant) -> Way:
        """Coast along the ellipse flown now, then one burn at its highest point."""
        mu = self.mission.body.gravitational_parameter
        axis, eccentricity, momentum = self._ellipse(now)
        top, h = axis * (1.0 + eccentricity), np.linalg.norm(momentum, axis=1)
        outward = now.r / np.linalg.norm(now.r, axis=1)[:, None] - np.cross(now.v, momentum) / mu
        place = outward * (top / np.maximum(np.linalg.norm(outward, axis=1), 1e-12))[:, None]
        wanted, across, miss = self._target(place, momentum, np.zeros(len(top)))
        impulse = np.hypot(wanted - h / top, across) + h / top * self._tilt(momentum, h)
        arc = self._burn_time(impulse, now) * np.sqrt(mu / top**3)
        # A burn over an arc instead of at a point: H. M. Robbins, AIAA J. 4, 1966 (from memory).
        # Beyond half a radian it says too little, so such burns are made dear.
        impulse *= 1.0 + arc**2 / 24.0 + 2.0 * np.maximum(arc - 0.5, 0.0)
        impulse /= self._level(now, top, h / top)
        height = Surroundings(self.vehicle, self.mission).altitude(now.r)
        falling = np.einsum("ij,ij->i", now.r, now.v) < 0.0
        floor = self.mission.body.radius + self.mission.floor
        dips = falling & (axis * (1.0 - eccentricity) < floor)  # the periapsis comes first
        cost = np.where((height < 0.9 * self.mission.floor) | dips, np.inf, impulse)
        return Way(cost, cost, miss)

    def _level(self, now: Instant, radius: Floats, speed: Floats) -> Floats:
        """Share (n) of the thrust that may lie level in a burn at an apsis.

        Below circular speed the rest holds the vehicle up; as it does at the start of the burn,
        which is too much. Next to nothing where the thrust is less than that.
        """
        mu = self.mission.body.gravitational_parameter
        sinking = np.maximum(mu / radius**2 - speed**2 / radius, 0.0)
        steep = sinking * now.mass / self.vehicle.stages[-1].engine.mean_thrust
        level: Floats = np.sqrt(np.maximum(1.0 - steep**2, 1e-6))
        return level

    def _tilt(self, momentum: Floats, h: Floats) -> Floats:
        """Angle (n) in rad between the inclination flown and the one wanted."""
        inclination = self.mission.orbit.inclination
        if inclination is None:
            return np.zeros(len(h))
        cosine = np.clip(momentum[:, 2] / np.maximum(h, 1.0), -1.0, 1.0)
        tilt: Floats = np.abs(np.arccos(cosine) - inclination)
        return tilt


def _from_the_node(r: Floats, momentum: Floats) -> Floats:
    """Angle (n) in rad from the ascending node to positions (n, 3), in the plane of the motion."""
    node = np.cross([0.0, 0.0, 1.0], momentum)
    ahead = np.cross(momentum, node)
    long = np.einsum("ij,ij->i", r, node) * np.linalg.norm(momentum, axis=1)
    angle: Floats = np.arctan2(np.einsum("ij,ij->i", r, ahead), long)
    return angle

"""What a guided burn is to end in, and what makes the way there the cheapest.

Six conditions at the end: radius, climb and speed across it are those planned, and three more of
plane and costates. What may turn freely must not gain by turning: about an axis e that is the
component along e of A = v x p - r x p', where p is the costate of velocity and p' minus that of
position.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import cos, sin

import casadi as ca
import numpy as np

from ascentopt.typing import Expr, Floats

Vector = tuple[float, float, float]

CONDITIONS = 6
RADIUS, CLIMB, SPEED, PLANE = range(4)
"""Places of the conditions; the plane's take three."""


class Plane(ABC):
    """The plane asked for, as conditions on what is predicted at the end."""

    @abstractmethod
    def conditions(self, now: EndExpressions) -> Expr:
        """(3,) of size one; the first is to be met by the velocity where the place is as it is."""

    @property
    def steers_velocity(self) -> bool:
        """Whether the first of them is one of the velocity."""
        return True

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """(N,) m out of the plane and m/s out of it, of (N, 6) states."""
        return np.zeros(len(states)), np.zeros(len(states))


@dataclass(frozen=True)
class EndExpressions:
    """What is predicted at the end, in units of the target's radius and speed."""

    place: Expr
    velocity: Expr
    p: Expr
    rate: Expr

    @property
    def turning(self) -> Expr:
        """(3,) what a turn about each axis gains."""
        return ca.cross(self.velocity, self.p) - ca.cross(self.place, self.rate)

    @property
    def distance(self) -> Expr:
        """From the centre."""
        return ca.norm_2(self.place)

    @property
    def climb(self) -> Expr:
        """Speed away from it."""
        return ca.dot(self.place, self.velocity) / self.distance

    @property
    def across(self) -> Expr:
        """Speed across the radius."""
        return ca.norm_2(self.momentum) / self.distance

    @property
    def momentum(self) -> Expr:
        """(3,) of a unit of mass."""
        return ca.cross(self.place, self.velocity)


@dataclass(frozen=True)
class AnyPlane(Plane):
    """Whatever is cheapest."""

    def conditions(self, now: EndExpressions) -> Expr:
        """No turn gains."""
        return now.turning

    @property
    def steers_velocity(self) -> bool:
        """None of them is."""
        return False


@dataclass(frozen=True)
class Inclined(Plane):
    """An inclination, in rad, wherever its node is."""

    inclination: float

    def conditions(self, now: EndExpressions) -> Expr:
        """Neither a turn about the spin axis nor one within the plane gains."""
        normal = now.momentum / ca.norm_2(now.momentum)
        tilt = normal[2] - cos(self.inclination)
        return ca.vertcat(tilt, now.turning[2], ca.dot(now.turning, normal))

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """The way out of the nearest plane of that inclination, as speed."""
        place, velocity = states[:, :3], states[:, 3:6]
        momentum = np.cross(place, velocity)
        level = np.hypot(momentum[:, 0], momentum[:, 1])
        off = np.arctan2(level, momentum[:, 2]) - self.inclination
        return np.zeros(len(states)), off * np.sqrt((velocity**2).sum(axis=1))


@dataclass(frozen=True)
class Fixed(Plane):
    """The plane with a normal (3), of length one and along the momentum."""

    normal: Vector

    def conditions(self, now: EndExpressions) -> Expr:
        """In the plane; no turn within it gains."""
        normal = ca.DM(list(self.normal))
        return ca.vertcat(
            ca.dot(normal, now.velocity), ca.dot(normal, now.place), ca.dot(normal, now.turning)
        )

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """Along the normal."""
        normal = np.array(self.normal)
        return states[:, :3] @ normal, states[:, 3:6] @ normal


@dataclass(frozen=True)
class ThroughNode(Plane):
    """Any plane that holds the line of nodes at an angle in rad from the x axis."""

    node: float

    def conditions(self, now: EndExpressions) -> Expr:
        """Neither a turn about that line nor one within the plane gains."""
        line = ca.DM([cos(self.node), sin(self.node), 0.0])
        normal = now.momentum / ca.norm_2(now.momentum)
        return ca.vertcat(
            ca.dot(normal, line), ca.dot(now.turning, line), ca.dot(now.turning, normal)
        )


@dataclass(frozen=True)
class OrbitShape:
    """Size and shape of an orbit.

    Args:
        mu: m^3/s^2.
        low, high: m of radius at periapsis and apoapsis.
    """

    mu: float
    low: float
    high: float

    @property
    def latus(self) -> float:
        """Semi-latus rectum, m."""
        return 2.0 * self.low * self.high / (self.low + self.high)

    @property
    def eccentricity(self) -> float:
        """Its eccentricity."""
        return (self.high - self.low) / (self.high + self.low)

    @property
    def energy(self) -> float:
        """J/kg."""
        return -self.mu / (self.low + self.high)

    def speeds(self, radius: Floats, climb: Floats) -> tuple[Floats, Floats]:
        """(N,) m/s outward and across, in the orbit at radii; upward or downward as `climb`.

        Where the orbit does not pass they lead level to one of its energy.
        """
        squared = 2.0 * (self.energy + self.mu / radius)
        across = np.sqrt(self.mu * self.latus) / radius
        outward = np.sqrt(np.maximum(squared - across**2, 0.0))
        level = (radius <= self.low) | (radius >= self.high)
        speed = np.where(level, np.sqrt(np.maximum(squared, 0.0)), across)
        return np.where(level, 0.0, np.copysign(outward, climb)), speed

    def place(self, states: Floats) -> tuple[Floats, Floats, Floats]:
        """(N,) m and m/s: radius and both speeds of the orbit at the true anomalies of (N, 6+)."""
        radius = np.sqrt((states[:, :3] ** 2).sum(axis=1))
        climb = (states[:, :3] * states[:, 3:6]).sum(axis=1) / radius
        momentum = np.sqrt((np.cross(states[:, :3], states[:, 3:6]) ** 2).sum(axis=1))
        anomaly = np.arctan2(climb * momentum / self.mu, momentum**2 / (self.mu * radius) - 1.0)
        there = self.latus / (1.0 + self.eccentricity * np.cos(anomaly))
        pace = np.sqrt(self.mu / self.latus)
        outward = pace * self.eccentricity * np.sin(anomaly)
        return there, outward, pace * self.latus / there


@dataclass(frozen=True)
class Target:
    """Where a burn ends.

    Args:
        radius: m from the centre.
        climb, speed: m/s away from the centre, and across.
        plane: of the orbit.
        free_end: whether the burn can be cut off; one of a solid motor cannot, and ends with
            whatever speed across there is.
        shape_asked: of the orbit, where the burn ends the flight.
    """

    radius: float
    climb: float
    speed: float
    plane: Plane
    free_end: bool = True
    shape_asked: OrbitShape | None = None

    @property
    def pace(self) -> float:
        """m/s there."""
        return float((self.speed**2 + self.climb**2) ** 0.5)

    @property
    def is_place(self) -> bool:
        """Whether place and velocity are aimed at, which need time to be steered to."""
        return True

    def place(self, states: Floats) -> tuple[Floats, Floats, Floats]:
        """(N,) m and m/s: radius and both speeds that flights (N, 6+) should have come to."""
        if self.shape_asked is not None:
            return self.shape_asked.place(states)
        ones = np.ones(len(states))
        return self.radius * ones, self.climb * ones, self.speed * ones

    def speeds(self, radius: Floats, climb: Floats) -> tuple[Floats, Floats]:
        """(N,) m/s away from the centre, and across, to be aimed at where the place is as it is.

        `radius` (N,) is that of the end as it comes, m; the sign of `climb` (N,) says which way.
        """
        if self.shape_asked is None:
            ones = np.ones_like(radius)
            return self.climb * ones, self.speed * ones
        return self.shape_asked.speeds(radius, climb)

    def shape(self, now: EndExpressions) -> tuple[Expr, Expr, Expr]:
        """What is to be zero besides the plane's: each of size one."""
        return (
            now.distance - 1.0,
            now.climb - self.climb / self.pace,
            now.across - self.speed / self.pace,
        )


@dataclass(frozen=True)
class Apoapsis(Target):
    """An orbit that leads out to another burn: its apoapsis, and of the rest what is the cheapest.

    The cost to go at the cut-off is a function of the orbit's energy E and momentum h alone, so
    that the costates are a grad E + b grad h. More momentum at the same apoapsis saves as much
    speed as it brings there: a v_a + b r_a = 1. Of the air and the ground it knows nothing.

    Args:
        mu: m^3/s^2.
        apoapsis: m of radius.
    """

    mu: float = 1.0
    apoapsis: float = 1.0

    @property
    def is_place(self) -> bool:
        """No: an orbit is aimed at, and it has no time too short to be steered to."""
        return False

    def shape(self, now: EndExpressions) -> tuple[Expr, Expr, Expr]:
        """Both conditions on the costates, and the apoapsis."""
        far, mu = self.apoapsis / self.radius, self.mu / (self.radius * self.pace**2)
        out, across = now.place / now.distance, now.across
        ahead = (now.velocity - now.climb * out) / across
        slow = now.distance * across / far
        scale = across * far - now.distance * slow
        by_energy = (ca.dot(now.p, ahead) * far - now.distance) / scale
        by_momentum = (across - slow * ca.dot(now.p, ahead)) / scale
        push = by_energy * mu / now.distance**2 + by_momentum * across
        upward = ca.dot(now.p, out) - by_energy * now.climb
        turning = ca.dot(now.rate, out) + push
        energy = 0.5 * (now.climb**2 + across**2) - mu / now.distance
        reached = energy - 0.5 * slow**2 + mu / far
        return upward, reached, turning


ENDED = 12
"""Position, velocity, p and its rate at the end."""


def target_function(target: Target) -> ca.Function:
    """From what is predicted at the end (12) to the conditions (6) and their slopes by it (72)."""
    x = ca.SX.sym("x", ENDED)
    pace = target.pace
    now = EndExpressions(
        x[:3] / target.radius, x[3:6] / pace, x[6:9], x[9:12] * (target.radius / pace)
    )
    conditions = ca.vertcat(*target.shape(now), target.plane.conditions(now))
    slopes = ca.jacobian(conditions, x)
    found = ca.vertcat(conditions, ca.reshape(slopes, -1, 1))
    return ca.Function("target", [x], [ca.cse(ca.densify(found))])

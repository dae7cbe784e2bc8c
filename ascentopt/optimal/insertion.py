"""What it means to be in the target orbit, as scalar measures of the final position and velocity.

Each orbit gets measures that are independent of each other where it is flown: a circle by radius,
speed and climb (energy and angular momentum coincide there), a known plane by the distance from
it (its inclination alone says nothing about the node, and is stationary at the equator).
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin, sqrt

import casadi as ca

from ascentopt.collocation import Bounds, Condition, Ends, Quantity
from ascentopt.mission import Mission, Orbit
from ascentopt.typing import Expr

NEARLY_CIRCULAR = 1e-4
"""Eccentricity below which energy and angular momentum no longer tell orbits apart."""

_TINY = 1e-12


class Measure(ABC):
    """A scalar function of position and velocity."""

    @abstractmethod
    def value(self, position: Expr, velocity: Expr) -> Expr:
        """The measure, SI."""


@dataclass(frozen=True)
class Radius(Measure):
    """Distance from the centre."""

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m."""
        return ca.norm_2(position)


@dataclass(frozen=True)
class Speed(Measure):
    """Inertial speed."""

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m/s."""
        return ca.norm_2(velocity)


@dataclass(frozen=True)
class ClimbRate(Measure):
    """Speed away from the centre."""

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m/s."""
        return ca.dot(position, velocity) / ca.norm_2(position)


@dataclass(frozen=True)
class Energy(Measure):
    """Specific orbital energy."""

    mu: float

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m^2/s^2."""
        return 0.5 * ca.sumsqr(velocity) - self.mu / ca.norm_2(position)


@dataclass(frozen=True)
class AngularMomentum(Measure):
    """Length of the specific angular momentum."""

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m^2/s."""
        return ca.norm_2(ca.cross(position, velocity))


@dataclass(frozen=True)
class Apsis(Measure):
    """Least (side -1) or greatest (side +1) distance from the centre."""

    mu: float
    side: float

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m: p / (1 - side e)."""
        parameter = ca.sumsqr(ca.cross(position, velocity)) / self.mu
        shape = _eccentricity_vector(self.mu, position, velocity)
        return parameter / (1.0 - self.side * ca.sqrt(ca.sumsqr(shape) + _TINY))


@dataclass(frozen=True)
class Eccentricity(Measure):
    """Eccentricity, smooth at zero."""

    mu: float

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """A pure number."""
        return ca.sqrt(ca.sumsqr(_eccentricity_vector(self.mu, position, velocity)) + _TINY)


@dataclass(frozen=True)
class CosineOfInclination(Measure):
    """z component of the unit angular momentum."""

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """A pure number."""
        momentum = ca.cross(position, velocity)
        return momentum[2] / ca.norm_2(momentum)


@dataclass(frozen=True)
class PositionAlong(Measure):
    """Position along a fixed direction: distance from the plane normal to it."""

    axis: tuple[float, float, float]

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m."""
        return ca.dot(ca.DM(list(self.axis)), position)


@dataclass(frozen=True)
class VelocityAlong(Measure):
    """Velocity along a fixed direction."""

    axis: tuple[float, float, float]

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """In m/s."""
        return ca.dot(ca.DM(list(self.axis)), velocity)


@dataclass(frozen=True)
class MomentumAlong(Measure):
    """Unit angular momentum along a fixed direction; zero when that lies in the orbit's plane."""

    axis: tuple[float, float, float]

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """A pure number."""
        momentum = ca.cross(position, velocity)
        return ca.dot(ca.DM(list(self.axis)), momentum) / ca.norm_2(momentum)


@dataclass(frozen=True)
class PeriapsisOffset(Measure):
    """Sine of the angle in the plane from the wanted periapsis to the actual one."""

    mu: float
    argument: float

    def value(self, position: Expr, velocity: Expr) -> Expr:
        """A pure number, zero also half a revolution off: the guess settles which."""
        momentum = ca.cross(position, velocity)
        normal = momentum / ca.norm_2(momentum)
        node = ca.vertcat(-momentum[1], momentum[0], 0.0)
        node = node / ca.norm_2(node)
        shape = _eccentricity_vector(self.mu, position, velocity)
        shape = shape / ca.sqrt(ca.sumsqr(shape) + _TINY)
        sine, cosine = ca.dot(shape, ca.cross(normal, node)), ca.dot(shape, node)
        return sine * cos(self.argument) - cosine * sin(self.argument)


def _eccentricity_vector(mu: float, position: Expr, velocity: Expr) -> Expr:
    momentum = ca.cross(position, velocity)
    return ca.cross(velocity, momentum) / mu - position / ca.norm_2(position)


@dataclass(frozen=True)
class Insertion:
    """The measures at the end of the last arc, after the virtual impulse if there is one.

    The problem's free numbers are the three components of that impulse and of a shift in position;
    they are held at zero except when the question is how much speed is missing. The problem's
    first six parameters are added to position and velocity: what an independent flight of the
    steering misses the plan by, so that the flight and not the plan ends in the orbit.
    """

    measures: tuple[Measure, ...]

    def __call__(self, ends: Ends) -> list[Expr]:
        """Values in the order of the measures."""
        state = ends.end[-1]
        position = state[:3] + ends.parameter[:3] + ends.free[3:6]
        velocity = state[3:6] + ends.parameter[3:6] + ends.free[:3]
        return [measure.value(position, velocity) for measure in self.measures]


@dataclass(frozen=True)
class Target:
    """A measure with its name, unit, typical size and the value it must take."""

    measure: Measure
    quantity: Quantity
    value: float


def insertion_condition(mission: Mission) -> Condition:
    """The condition that the flight ends in the mission's orbit."""
    targets = tuple(orbit_targets(mission))
    return Condition(
        quantities=tuple(target.quantity for target in targets),
        expression=Insertion(tuple(target.measure for target in targets)),
        bounds=Bounds.fixed(tuple(target.value for target in targets)),
    )


def orbit_targets(mission: Mission) -> Iterator[Target]:
    """Measures and values that define the mission's orbit."""
    mu, length = mission.body.gravitational_parameter, mission.body.radius
    speed = sqrt(mu / length)
    yield from _size_and_shape(mission, mu, length, speed)
    yield from _plane(mission.orbit, length, speed)
    argument = getattr(mission.orbit, "argument_of_periapsis", None)
    if argument is not None:
        quantity = Quantity("sine of the offset of the periapsis")
        yield Target(PeriapsisOffset(mu, argument), quantity, 0.0)


def _size_and_shape(mission: Mission, mu: float, length: float, speed: float) -> Iterator[Target]:
    orbit, body = mission.orbit, mission.body
    axis, shape = orbit.semi_major_axis_around(body), orbit.eccentricity_around(body)
    if axis is not None and shape is not None and shape < NEARLY_CIRCULAR:
        yield Target(Radius(), Quantity("orbit radius", "m", length), axis)
        yield Target(Speed(), Quantity("orbit speed", "m/s", speed), sqrt(mu / axis))
        yield Target(ClimbRate(), Quantity("climb rate", "m/s", speed), 0.0)
        return
    if axis is not None:
        quantity = Quantity("orbital energy", "m^2/s^2", speed**2)
        yield Target(Energy(mu), quantity, -0.5 * mu / axis)
    if axis is not None and shape is not None:
        quantity = Quantity("angular momentum", "m^2/s", length * speed)
        yield Target(AngularMomentum(), quantity, sqrt(mu * axis * (1.0 - shape**2)))
    elif shape is not None:
        yield Target(Eccentricity(mu), Quantity("eccentricity"), shape)
    elif axis is None:
        yield from _single_apsis(mission, mu, length)


def _single_apsis(mission: Mission, mu: float, length: float) -> Iterator[Target]:
    low = mission.orbit.periapsis_radius_around(mission.body)
    high = mission.orbit.apoapsis_radius_around(mission.body)
    if low is not None:
        yield Target(Apsis(mu, -1.0), Quantity("periapsis radius", "m", length), low)
    if high is not None:
        yield Target(Apsis(mu, 1.0), Quantity("apoapsis radius", "m", length), high)


def _plane(orbit: Orbit, length: float, speed: float) -> Iterator[Target]:
    inclination, node = orbit.inclination, orbit.ascending_node
    if inclination is None:
        if node is not None:
            axis = cos(node), sin(node), 0.0
            yield Target(MomentumAlong(axis), Quantity("cosine from the node line"), 0.0)
        return
    if node is None and inclination not in (0.0, pi):
        yield Target(CosineOfInclination(), Quantity("cosine of the inclination"), cos(inclination))
        return
    normal = plane_normal(inclination, node or 0.0)
    yield Target(PositionAlong(normal), Quantity("distance from the plane", "m", length), 0.0)
    yield Target(VelocityAlong(normal), Quantity("speed out of the plane", "m/s", speed), 0.0)


def plane_normal(inclination: float, node: float) -> tuple[float, float, float]:
    """Unit normal of the orbit's plane, along its angular momentum."""
    return (
        sin(inclination) * sin(node),
        -sin(inclination) * cos(node),
        cos(inclination),
    )

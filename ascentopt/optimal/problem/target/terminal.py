"""What it means to be in the target orbit, as scalar measures of the final position and velocity.

Each orbit gets measures that are independent of each other wherever it is flown: a circle by
radius, speed and climb, an ellipse by radius, climb and horizontal speed against the true anomaly
(`ellipse`), a known plane by the distance and the speed out of it, one of which only the
inclination is known by that angle (its cosine is stationary over the equator).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import cos, sin

import casadi as ca

from ascentopt.collocation import Bounds, Condition, Ends, Quantity
from ascentopt.mission import Mission
from ascentopt.optimal.problem.linkage import IMPULSE, SHIFT, VIRTUAL
from ascentopt.optimal.problem.target.ellipse import (
    given_argument_of_periapsis,
    is_circle,
    orbit_numbers,
    place_on,
)
from ascentopt.optimal.problem.target.plane import flown_plane
from ascentopt.typing import Expr
from ascentopt.world.gravity import surface_circular_speed
from ascentopt.world.orbital_elements import circular_speed

_TINY = 1e-12
"""Of the squared momentum: over the equator the line of nodes would be nothing over nothing."""


@dataclass(frozen=True)
class Final:
    """Position and velocity at the end, m and m/s, and the orbit's free numbers."""

    position: Expr
    velocity: Expr
    numbers: Expr


Measure = Callable[[Final], Expr]
"""A function of how the flight ends, or several in a column, SI; hashable by value."""


def radius(final: Final) -> Expr:
    """Distance from the centre, m."""
    return ca.norm_2(final.position)


def speed(final: Final) -> Expr:
    """Inertial speed, m/s."""
    return ca.norm_2(final.velocity)


def climb_rate(final: Final) -> Expr:
    """Speed away from the centre, m/s."""
    return ca.dot(final.position, final.velocity) / ca.norm_2(final.position)


@dataclass(frozen=True)
class OnEllipse:
    """Radius, climb and horizontal speed less those of the ellipse at the true anomaly.

    The orbit's numbers are its apsides and the anomaly.
    """

    mu: float

    def __call__(self, final: Final) -> Expr:
        """(3,) in m, m/s, m/s."""
        distance = radius(final)
        climb = ca.dot(final.position, final.velocity) / distance
        across = ca.norm_2(ca.cross(final.position, final.velocity)) / distance
        low, high, anomaly = ca.vertsplit(final.numbers)
        place = place_on(self.mu, (low, high), ca.cos(anomaly), ca.sin(anomaly))
        return ca.vertcat(distance, climb, across) - ca.vertcat(*place)


NodeAngle = Callable[[Expr, Expr], tuple[Expr, Expr]]
"""From a position and the angular momentum to cosine and sine of the angle from the node to there,
along the motion."""


@dataclass(frozen=True)
class PeriapsisAhead:
    """Angle of the position from the node, less the anomaly and the argument of periapsis.

    Both its sine and its cosine are known, so half a revolution off is pi and not zero. The flight
    may begin at one end of an ellipse that lies wrong and turn it, the anomaly as it is.
    """

    argument: float
    from_node: NodeAngle

    def __call__(self, final: Final) -> Expr:
        """In rad, -pi to pi."""
        momentum = ca.cross(final.position, final.velocity)
        along, beyond = self.from_node(final.position, momentum)
        there = self.argument + final.numbers[2]
        cosine, sine = ca.cos(there), ca.sin(there)
        return ca.atan2(beyond * cosine - along * sine, along * cosine + beyond * sine)


def eccentricity(final: Final) -> Expr:
    """Of the ellipse whose apsides are the orbit's first two numbers."""
    low, high = final.numbers[0], final.numbers[1]
    return (high - low) / (high + low)


def semi_major_axis(final: Final) -> Expr:
    """Of the ellipse whose apsides are the orbit's first two numbers, m."""
    return 0.5 * (final.numbers[0] + final.numbers[1])


def from_own_node(position: Expr, momentum: Expr) -> tuple[Expr, Expr]:
    """From where the orbit comes up through the equator, by its momentum."""
    node = ca.vertcat(-momentum[1], momentum[0], 0.0) / _level(momentum)
    return _along(position, node, momentum / ca.norm_2(momentum))


@dataclass(frozen=True)
class FromNodeOfPlane:
    """From the node of a known plane; from the x axis for that of the equator."""

    inclination: float
    node: float

    def __call__(self, position: Expr, momentum: Expr) -> tuple[Expr, Expr]:
        """As that of any orbit."""
        del momentum  # the plane is known
        node = ca.DM([cos(self.node), sin(self.node), 0.0])
        return _along(position, node, ca.DM(list(plane_normal(self.inclination, self.node))))


def _level(momentum: Expr) -> Expr:
    """Size of the momentum's part along the equator, never quite zero."""
    return ca.sqrt(ca.sumsqr(momentum[:2]) + _TINY * ca.sumsqr(momentum))


def _along(position: Expr, node: Expr, normal: Expr) -> tuple[Expr, Expr]:
    upward = position / ca.norm_2(position)
    return ca.dot(upward, node), ca.dot(upward, ca.cross(normal, node))


def inclination(final: Final) -> Expr:
    """Angle of the orbit's plane with the equator's, rad, 0 to pi.

    Its slope by a turn of the plane is one everywhere but in the plane of the equator, near which
    that of its cosine goes to zero.
    """
    momentum = ca.cross(final.position, final.velocity)
    return ca.atan2(_level(momentum), momentum[2])


@dataclass(frozen=True)
class PositionAlong:
    """Position along a fixed direction: distance from the plane normal to it."""

    axis: tuple[float, float, float]

    def __call__(self, final: Final) -> Expr:
        """In m."""
        return ca.dot(ca.DM(list(self.axis)), final.position)


@dataclass(frozen=True)
class VelocityAlong:
    """Velocity along a fixed direction."""

    axis: tuple[float, float, float]

    def __call__(self, final: Final) -> Expr:
        """In m/s."""
        return ca.dot(ca.DM(list(self.axis)), final.velocity)


@dataclass(frozen=True)
class MomentumAlong:
    """Unit angular momentum along a fixed direction; zero when that lies in the orbit's plane."""

    axis: tuple[float, float, float]

    def __call__(self, final: Final) -> Expr:
        """A pure number."""
        momentum = ca.cross(final.position, final.velocity)
        return ca.dot(ca.DM(list(self.axis)), momentum) / ca.norm_2(momentum)


@dataclass(frozen=True)
class Insertion:
    """The measures at the end of the last arc, after the virtual impulse if there is one.

    The problem's free numbers are the three components of that impulse and of a shift in position,
    then those of the orbit. The first six are held at zero except when the question is how much
    speed is missing. The problem's first six parameters are added to position and velocity: what an
    independent flight of the steering misses the plan by, so that the flight and not the plan ends
    in the orbit.
    """

    measures: tuple[Measure, ...]
    numbers: int

    def __call__(self, ends: Ends) -> Expr:
        """Values in the order of the measures."""
        state = ends.end[-1]
        final = Final(
            position=state[:3] + ends.parameter[:3] + ends.free[SHIFT],
            velocity=state[3:6] + ends.parameter[3:6] + ends.free[IMPULSE],
            numbers=ends.free[VIRTUAL : VIRTUAL + self.numbers],
        )
        return ca.vertcat(*(measure(final) for measure in self.measures))


@dataclass(frozen=True)
class Target:
    """A measure with the name, unit and typical size of each of its values, and what they are."""

    measure: Measure
    quantities: tuple[Quantity, ...]
    values: tuple[float, ...]

    @classmethod
    def single(cls, measure: Measure, quantity: Quantity, value: float) -> Target:
        """Of a measure with one value."""
        return cls(measure, (quantity,), (value,))


def insertion_condition(mission: Mission) -> Condition:
    """The condition that the flight ends in the mission's orbit."""
    targets = tuple(orbit_targets(mission))
    measures = tuple(target.measure for target in targets)
    return Condition(
        quantities=tuple(one for target in targets for one in target.quantities),
        expression=Insertion(measures, len(orbit_numbers(mission))),
        bounds=Bounds.fixed(tuple(value for target in targets for value in target.values)),
    )


def orbit_targets(mission: Mission) -> Iterator[Target]:
    """Measures and values that define the mission's orbit."""
    length = mission.body.radius
    pace = surface_circular_speed(mission.body)
    if is_circle(mission):
        yield from _on_circle(mission, length, pace)
    else:
        yield from _on_ellipse(mission, length, pace)
    yield from _plane(mission, length, pace)


def _on_circle(mission: Mission, length: float, pace: float) -> Iterator[Target]:
    mu, axis = mission.body.gravitational_parameter, _axis(mission)
    yield Target.single(radius, Quantity("orbit radius", "m", length), axis)
    yield Target.single(speed, Quantity("orbit speed", "m/s", pace), circular_speed(mu, axis))
    yield Target.single(climb_rate, Quantity("climb rate", "m/s", pace), 0.0)


def _on_ellipse(mission: Mission, length: float, pace: float) -> Iterator[Target]:
    orbit, body = mission.orbit, mission.body
    yield Target(
        OnEllipse(body.gravitational_parameter),
        (
            Quantity("radius beyond the orbit's", "m", length),
            Quantity("climb rate beyond the orbit's", "m/s", pace),
            Quantity("horizontal speed beyond the orbit's", "m/s", pace),
        ),
        (0.0, 0.0, 0.0),
    )
    argument = given_argument_of_periapsis(mission)
    if argument is not None:
        ahead = PeriapsisAhead(argument, _from_node(mission))
        yield Target.single(ahead, Quantity("turn of the periapsis", "rad"), 0.0)
    if orbit.periapsis_radius_around(body) or orbit.apoapsis_radius_around(body):
        return  # what is given is a bound, and the other apsis is free or given, too
    axis, shape = orbit.semi_major_axis_around(body), orbit.eccentricity_around(body)
    if axis is not None:
        yield Target.single(semi_major_axis, Quantity("semi-major axis", "m", length), axis)
    elif shape is not None:
        yield Target.single(eccentricity, Quantity("eccentricity"), shape)


def _axis(mission: Mission) -> float:
    axis = mission.orbit.semi_major_axis_around(mission.body)
    return 0.0 if axis is None else axis


def _from_node(mission: Mission) -> NodeAngle:
    """The angle from the node that the argument of periapsis counts from."""
    plane = flown_plane(mission)
    if plane.inclination is None or (plane.node is None and not plane.is_level):
        return from_own_node
    return FromNodeOfPlane(plane.inclination, plane.node or 0.0)


def _plane(mission: Mission, length: float, pace: float) -> Iterator[Target]:
    plane = flown_plane(mission)
    tilt, node = plane.inclination, plane.node
    if tilt is None:
        if node is not None:
            axis = cos(node), sin(node), 0.0
            yield Target.single(MomentumAlong(axis), Quantity("cosine from the node line"), 0.0)
        return
    if node is None and not plane.is_level:
        yield Target.single(inclination, Quantity("inclination", "rad"), tilt)
        return
    normal = plane_normal(tilt, node or 0.0)
    height, drift = PositionAlong(normal), VelocityAlong(normal)
    yield Target.single(height, Quantity("distance from the plane", "m", length), 0.0)
    yield Target.single(drift, Quantity("speed out of the plane", "m/s", pace), 0.0)


def plane_normal(inclination: float, node: float) -> tuple[float, float, float]:
    """Unit normal of the orbit's plane, along its angular momentum."""
    return (
        sin(inclination) * sin(node),
        -sin(inclination) * cos(node),
        cos(inclination),
    )

"""Where a guess should go: the state that its last ascending burn ends in, and the plane."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, sqrt

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.problem.target.ellipse import given_argument_of_periapsis, place_on
from ascentopt.optimal.problem.target.plane import beside_a_pole, flown_plane
from ascentopt.optimal.problem.target.terminal import plane_normal
from ascentopt.rocket import Fairing
from ascentopt.world import Body
from ascentopt.world.orbital_elements import elements, speed_on_orbit

CLEARANCE = 1.15
"""A transfer to a higher orbit starts its coast this factor above the ceiling."""


@dataclass(frozen=True)
class AimPoint:
    """Where the last ascending burn should end: radius in m and horizontal speed in m/s."""

    radius: float
    speed: float

    def with_altitude_times(self, factor: float, body: Body) -> AimPoint:
        """The same aim at another altitude, with the same energy."""
        radius = body.radius + factor * (self.radius - body.radius)
        gained = 2.0 * body.gravitational_parameter * (1.0 / radius - 1.0 / self.radius)
        return AimPoint(radius, sqrt(max(self.speed**2 + gained, 1.0)))

    def state(self, near: Array) -> Array:
        """(7,) state at the aim in the place and plane of ``near`` (7,), with its mass."""
        vertical = near[:3] / np.linalg.norm(near[:3])
        normal = np.cross(near[:3], near[3:6])
        along = np.cross(normal / np.linalg.norm(normal), vertical)
        return np.concatenate((self.radius * vertical, self.speed * along, near[MASS:]))

    def miss(self, states: Array) -> Array:
        """(k, members) missing speed of (k, 7, members) states, altitude counted as speed.

        A height error is worth the speed that half an orbit's drift would take to mend it.
        """
        position, velocity = states[:, :3], states[:, 3:6]
        radius = np.linalg.norm(position, axis=1)
        climb = (position * velocity).sum(axis=1) / radius
        level = np.sqrt(np.maximum((velocity**2).sum(axis=1) - climb**2, 0.0))
        height = (radius - self.radius) * self.speed / self.radius
        return np.asarray(np.sqrt((level - self.speed) ** 2 + climb**2 + height**2))


def apsides(mission: Mission) -> tuple[float, float]:
    """Least and greatest radius in m of the orbit that a guess aims at.

    Of what is free the cheapest: the apoapsis as low as the periapsis, the periapsis as low as a
    transfer would begin.
    """
    body, orbit = mission.body, mission.orbit
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    axis, shape = orbit.semi_major_axis_around(body), orbit.eccentricity_around(body)
    if low is not None:
        return low, low if high is None else high
    if high is not None:
        return _low_point(mission, least_altitude(mission), high), high
    if axis is not None:
        low = _low_point(mission, least_altitude(mission), axis)
        return low, 2.0 * axis - low
    low = body.radius + CLEARANCE * least_altitude(mission)
    return low, low * (1.0 + (shape or 0.0)) / (1.0 - (shape or 0.0))


def least_altitude(mission: Mission) -> float:
    """Altitude in m that any orbit lies above: the ceiling of the air, the end of the rise."""
    return max(mission.floor, mission.site.altitude + (mission.vertical_rise or 0.0))


def _low_point(mission: Mission, floor: float, top: float) -> float:
    """Radius in m, above an altitude, at which an ellipse begins that ends at the radius ``top``.

    Well above the ground where there is no air to be above.
    """
    radius = mission.body.radius
    floor = max(floor, 0.1 * (top - radius))
    low = min(radius + CLEARANCE * floor, 0.5 * (radius + floor + top))
    return min(low, top)


def speed_at(mission: Mission, radius: float) -> float:
    """Speed on the orbit at one of its apsides, m/s, its free elements as a guess aims at them."""
    low, high = apsides(mission)
    return sqrt(mission.body.gravitational_parameter * 2.0 * (1.0 / radius - 1.0 / (low + high)))


def orbit_aim(mission: Mission) -> AimPoint:
    """The lowest point of the target orbit."""
    low, _ = apsides(mission)
    return AimPoint(low, speed_at(mission, low))


def state_in_orbit_near(mission: Mission, near: Array) -> Array:
    """(6,) position and velocity in the target orbit, in the place and plane of ``near`` (7,).

    At the orbit's lowest point, unless its argument of periapsis says where it is.
    """
    aim = orbit_aim(mission)
    state = aim.state(near)[:MASS]
    argument = given_argument_of_periapsis(mission)
    if argument is None:
        return state
    mu = mission.body.gravitational_parameter
    here = elements(mu, state[:3], state[3:6])
    anomaly = here.argument_of_periapsis + here.true_anomaly - argument
    ends = apsides(mission)
    place = place_on(mu, ends, cos(anomaly), sin(anomaly))
    vertical, along = state[:3] / aim.radius, state[3:6] / aim.speed
    return np.concatenate((place[0] * vertical, place[1] * vertical + place[2] * along))


def transfer_aim(mission: Mission, fairing: Fairing | None) -> AimPoint:
    """The low point of an ellipse that touches the target orbit at its far end.

    Where a fairing is carried it lies high enough to have dropped it on the way up.
    """
    target, body = orbit_aim(mission), mission.body
    low = _low_point(mission, max(mission.floor, cool_altitude(mission, fairing)), target.radius)
    axis = 0.5 * (low + target.radius)
    return AimPoint(low, speed_on_orbit(body.gravitational_parameter, axis, low))


def cool_altitude(mission: Mission, fairing: Fairing | None, share: float = 1.0) -> float:
    """Altitude in m above which flight heats no more than the fairing's limit.

    At a ``share`` of circular speed; zero without a fairing or air.
    """
    body = mission.body
    if fairing is None or body.atmosphere is None:
        return 0.0
    heights = np.linspace(0.0, 4.0 * body.atmosphere.ceiling, 400)
    speed = share * np.sqrt(body.gravitational_parameter / (body.radius + heights))
    hot = 0.5 * np.asarray(body.atmosphere.density(heights)) * speed**3 > fairing.max_heating
    return float(heights[hot].max(initial=0.0))


def launch_plane(sequence: Sequence, mission: Mission) -> Array:
    """(3,) unit normal of the plane to ascend in: the target's, or one through the site."""
    plane = flown_plane(mission)
    place = np.array(sequence.position)
    vertical = place / np.linalg.norm(place)
    if beside_a_pole(mission):  # there is no east
        normal = np.array(plane_normal(0.5 * pi, plane.node or 0.0))
        normal = normal - vertical * (normal @ vertical)
        return np.asarray(normal / np.linalg.norm(normal))
    east = np.cross([0.0, 0.0, 1.0], vertical)
    across = float(np.linalg.norm(east))
    east = east / across
    north = np.cross(vertical, east)
    if plane.inclination is None:
        return north
    if plane.node is not None:
        return np.array(plane_normal(plane.inclination, plane.node))
    sine = np.clip(cos(plane.inclination) / across, -1.0, 1.0)
    northward = np.sqrt(1.0 - sine**2) * (-1.0 if sequence.southward else 1.0)
    heading = sine * east + northward * north
    return np.cross(vertical, heading)


def plane_met_from(mission: Mission, normal: Array) -> Array:
    """(3,) of the orbit's plane; with its node free, the one through the circle's nodes."""
    plane = flown_plane(mission)
    if plane.inclination is None:
        return normal
    node = plane.node
    if node is None:
        x, y, _ = ascending_node(normal)
        node = float(np.arctan2(y, x))
    return np.array(plane_normal(plane.inclination, node))


def ascending_node(normal: Array) -> Array:
    """(3,) unit vector to the ascending node; anywhere for an equatorial plane."""
    node = np.array([-normal[1], normal[0], 0.0])
    return node / np.linalg.norm(node) if np.linalg.norm(node) > 1e-9 else np.array([1.0, 0.0, 0.0])

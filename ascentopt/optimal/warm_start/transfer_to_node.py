"""By a transfer whose far end lies where the planes meet: one burn up, one that turns the plane.

Who burns but once after a coast, and whose orbit's plane does not pass the pad, cannot wait in a
circle for the node. The burn from the pad goes into an ellipse in a plane of its own, which crosses
the orbit's plane near the apoapsis, where turning it is cheapest. Every heading from the pad, both
ends of the line in which the planes meet and every place of the periapsis make one such ellipse;
impulses from a low circle tell which costs least:

    |v1 - circle| + |v2 - orbit| + the ground's speed that the heading gives away,

v1 and v2 being the velocities on r = p/(1 + e cos nu) through a radius where the way up ends and
another where the orbit is met, whose anomalies differ by the angle between them (two radii, an
angle and the periapsis' place decide e and p: Battin, An Introduction to the Mathematics and
Methods of Astrodynamics, sec. 6; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import atan2, cos, pi, sin, sqrt

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.mission import EllipticalOrbit, Mission
from ascentopt.optimal.problem.target.aim import (
    apsides,
    ascending_node,
    plane_met_from,
    speed_at,
)
from ascentopt.optimal.problem.target.plane import flown_plane
from ascentopt.optimal.problem.target.terminal import plane_normal
from ascentopt.optimal.warm_start.parking_orbit import (
    SAME_PLANE,
    SOON,
    Impulse,
    angle_to,
    unit,
)
from ascentopt.world.orbital_elements import circular_speed, elements

HEADINGS, PLACES, NODES = 72, 180, 12
"""Compared around the horizon, of the periapsis around the transfer, and of the orbit's node where
that is free: 5, 2 and 30 deg. The cost is flat at its least; the solver does the rest."""

MOST_OBLONG = 0.98
"""Eccentricity of a transfer beyond which it is as good as open."""


@dataclass(frozen=True)
class Transfer:
    """An ellipse from the end of the way up to the orbit.

    Attributes:
        cost: m/s, comparable with that of others alone.
        normal, periapsis: (3,) unit vectors; low, high: radii of the apsides, m.
        place, final: (3,) unit vectors: to where the orbit is met, and normal to its plane.
    """

    cost: float
    normal: Array
    periapsis: Array
    low: float
    high: float
    place: Array
    final: Array


def transfer_to_node(
    mission: Mission, pad: Array, state: Array, burn: FlightArc
) -> Transfer | None:
    """The cheapest transfer, by a flight from ``pad`` (3,) that ends in a low circle in ``state``.

    What it tells is how far a way up leads, and how high; its ``burn`` goes on into the transfer,
    as if by an impulse half way through what is left of it. None where there is no transfer.
    """
    upward = unit(pad)
    radius = float(np.linalg.norm(state[:3]))
    ahead = float(np.arccos(np.clip(upward @ unit(state[:3]), -1.0, 1.0)))
    ahead += _half_way_on(mission, burn, radius, float(state[MASS]))
    east = unit(np.cross([0.0, 0.0, 1.0], upward))
    north = np.cross(upward, east)
    found: list[Transfer] = []
    for heading in np.linspace(-pi, pi, HEADINGS, endpoint=False):
        along = cos(heading) * east + sin(heading) * north
        normal = np.cross(upward, along)
        start = cos(ahead) * upward + sin(ahead) * along
        lost = mission.body.rotation_rate * float(np.linalg.norm(pad[:2])) * (1.0 - cos(heading))
        found += _from_heading(mission, normal, radius * start, lost)
    return min(found, key=lambda one: one.cost, default=None)


def _half_way_on(mission: Mission, burn: FlightArc, radius: float, mass: float) -> float:
    """Angle in rad on a circle in half the burn that leaves it for the orbit's height."""
    mu, (_, far) = mission.body.gravitational_parameter, apsides(mission)
    speed = circular_speed(mu, radius)
    gained = speed * (sqrt(2.0 * far / (radius + far)) - 1.0)
    return 0.5 * speed / radius * burn.seconds_to_gain(mass, max(gained, 0.0))


def _from_heading(mission: Mission, normal: Array, start: Array, lost: float) -> Iterator[Transfer]:
    """The cheapest transfer in a plane, if there is one; ``lost`` is what its heading costs."""
    finals = _planes_met(mission, normal)
    lines = np.cross(normal, finals)
    sines = np.linalg.norm(lines, axis=1, keepdims=True)
    across = sines[:, 0] > SAME_PLANE
    ends, finals = lines[across] / sines[across], finals[across]
    ends, finals = np.concatenate((ends, -ends)), np.concatenate((finals, finals))
    one = _cheapest(mission, normal, start, ends, finals)
    if one is not None:
        yield replace(one, cost=one.cost + lost)


def _planes_met(mission: Mission, normal: Array) -> Array:
    """(planes, 3) normals of the orbit's plane: one, or with its node free a choice of nodes.

    A plane turned by its node comes nearer to the pad or to its antipode, where a transfer from
    there crosses it at a smaller angle than over the equator.
    """
    plane, least = flown_plane(mission), plane_met_from(mission, normal)
    if plane.node is not None or plane.inclination is None:
        return least[None]
    x, y, _ = ascending_node(normal)
    nodes = atan2(y, x) + np.linspace(0.0, 2.0 * pi, NODES, endpoint=False)
    return np.array([plane_normal(plane.inclination, float(node)) for node in nodes])


def _cheapest(
    mission: Mission, normal: Array, start: Array, ends: Array, finals: Array
) -> Transfer | None:
    """Of all ``ends`` (k, 3), where planes of normals ``finals`` are met, and of all periapses."""
    mu, (_, far) = mission.body.gravitational_parameter, apsides(mission)
    radius = float(np.linalg.norm(start))
    angle, turned = _angles_to(start, ends, normal), (finals @ normal)[:, None]
    first = np.linspace(-pi, pi, PLACES, endpoint=False)
    second = first + angle[:, None]
    with np.errstate(all="ignore"):
        shape = (far - radius) / (radius * np.cos(first) - far * np.cos(second))
        latus = radius * (1.0 + shape * np.cos(first))
        pace = np.sqrt(mu / latus)
        leaving = np.hypot(
            pace * shape * np.sin(first),
            pace * (1.0 + shape * np.cos(first)) - circular_speed(mu, radius),
        )
        climb, across = pace * shape * np.sin(second), pace * (1.0 + shape * np.cos(second))
        speed = speed_at(mission, far)
        squared = climb**2 + across**2 + speed**2 - 2.0 * across * speed * turned
        cost = leaving + np.sqrt(np.maximum(squared, 0.0))
        lowest = 0.5 * (mission.body.radius + mission.floor + radius)
        is_orbit = (shape >= 0.0) & (shape < MOST_OBLONG) & (latus >= lowest * (1.0 + shape))
    cost = np.where(is_orbit & (angle[:, None] < 2.0 * pi - SOON), cost, np.inf)
    if not np.isfinite(cost).any():
        return None
    end, k = np.unravel_index(int(np.argmin(cost)), cost.shape)
    here = unit(start)
    periapsis = cos(first[k]) * here - sin(first[k]) * np.cross(normal, here)
    oval = float(shape[end, k])
    low, high = (float(latus[end, k] / (1.0 + side * oval)) for side in (1.0, -1.0))
    return Transfer(float(cost[end, k]), normal, periapsis, low, high, ends[end], finals[end])


def _angles_to(start: Array, ends: Array, normal: Array) -> Array:
    """(k,) rad ahead of a place to others, (k, 3)."""
    return np.array([angle_to(start, end, normal) for end in ends])


def mission_to_transfer(mission: Mission, transfer: Transfer) -> Mission | None:
    """The same mission into the ellipse; None where such an orbit cannot be."""
    body, normal = mission.body, transfer.normal
    node = atan2(normal[0], -normal[1])
    axis = np.array([cos(node), sin(node), 0.0])
    turned = transfer.periapsis
    argument = atan2(float(np.cross(axis, turned) @ normal), float(axis @ turned))
    try:
        ellipse = EllipticalOrbit(
            periapsis_altitude=transfer.low - body.radius,
            apoapsis_altitude=transfer.high - body.radius,
            inclination=float(np.arccos(np.clip(normal[2], -1.0, 1.0))),
            ascending_node=node,
            argument_of_periapsis=argument,
        )
        return replace(mission, orbit=ellipse, reserve=None)
    except InputError:
        return None


def impulse_at_node(mission: Mission, transfer: Transfer, state: Array) -> Impulse:
    """The impulse into the orbit at the transfer's far end, from a (7,) ``state`` on it."""
    mu, (_, far) = mission.body.gravitational_parameter, apsides(mission)
    normal = unit(np.cross(state[:3], state[3:6]))
    latus = 2.0 * transfer.low * transfer.high / (transfer.low + transfer.high)
    shape = (transfer.high - transfer.low) / (transfer.high + transfer.low)
    anomaly = [_anomaly(one, transfer, normal) for one in (state[:3], transfer.place)]
    orbit = replace(
        elements(mu, state[:3], state[3:6]),
        semi_latus_rectum=latus,
        eccentricity=shape,
        true_anomaly=anomaly[0],
    )
    seconds = orbit.time_ahead(anomaly[1] - anomaly[0])
    upward, along = transfer.place, np.cross(normal, transfer.place)
    pace = sqrt(mu / latus)
    before = pace * (shape * sin(anomaly[1]) * upward + (1.0 + shape * cos(anomaly[1])) * along)
    after = speed_at(mission, far) * np.cross(transfer.final, upward)
    return Impulse(seconds, far * upward, before, after)


def _anomaly(position: Array, transfer: Transfer, normal: Array) -> float:
    """True anomaly in rad of a place near the ellipse."""
    across = np.cross(normal, transfer.periapsis)
    return atan2(float(position @ across), float(position @ transfer.periapsis))

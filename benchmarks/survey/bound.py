"""Speed that no ascent can do without, reckoned here without the library under test."""

from __future__ import annotations

from math import cos, pi, sqrt

import numpy as np

from ascentopt.mission import Mission
from ascentopt.world import geocentric_latitude

# Inclinations of the first leg that are tried; the dog-leg's saving is flat about its best.
_FIRST_LEGS = 721


def impulsive_bound(mission: Mission) -> float:
    """Least delta-v in m/s of two impulses from the turning ground, no air and no climb.

    The first impulse leaves the ground horizontally on an ellipse that grazes it, the second, at
    the far end, circularises (or reaches the target ellipse) and turns the plane by what is left.
    Impulses at the apsides of tangent ellipses are the least of all pairs: W. Hohmann, 1925. Where
    the target's size or shape is open, its cheapest member (the lowest circle) counts.
    """
    return two_impulses(mission, mission.orbit.inclination)


def two_impulses(mission: Mission, inclination: float | None) -> float:
    """The same for another plane than the mission's, which may lie below the site's latitude."""
    body, site = mission.body, mission.site
    ground = _ground_radius(mission)
    latitude = geocentric_latitude(body, site.latitude, site.altitude)
    carried = abs(body.rotation_rate) * ground * cos(latitude)
    low, high = _apsides(mission)
    legs = ((high, low), (low, high))
    mu = body.gravitational_parameter
    spin = -1.0 if body.rotation_rate < 0.0 else 1.0
    ways = (_split(mu, ground, leg, carried, spin, latitude, inclination) for leg in legs)
    return float(min(ways))


def _split(
    mu: float,
    ground: float,
    leg: tuple[float, float],
    carried: float,
    spin: float,
    latitude: float,
    inclination: float | None,
) -> float:
    """The cheapest split of the plane change between the impulses at ground and `leg[0]`."""
    far, other = leg
    leaving = _speed(mu, ground, far)
    arriving = _speed(mu, far, ground)
    wanted = _speed(mu, far, other)
    if inclination is None:
        return abs(leaving - carried) + abs(wanted - arriving)
    first = np.linspace(abs(latitude), pi - abs(latitude), _FIRST_LEGS)
    # cos i = cos(latitude) sin(azimuth): the share of the leaving speed that is eastward.
    eastward = np.clip(np.cos(first) / max(cos(latitude), 1e-12), -1.0, 1.0)
    launch = np.sqrt(leaving**2 + carried**2 - 2.0 * leaving * carried * spin * eastward)
    turn = np.cos(first - inclination)
    insertion = np.sqrt(np.maximum(arriving**2 + wanted**2 - 2.0 * arriving * wanted * turn, 0.0))
    return float(np.min(launch + insertion))


def _ground_radius(mission: Mission) -> float:
    """Distance of the site from the centre in m."""
    body, site = mission.body, mission.site
    a, b = body.radius, body.polar_radius
    c = cos(geocentric_latitude(body, site.latitude, site.altitude)) ** 2
    return a * b / sqrt(b**2 * c + a**2 * (1.0 - c)) + site.altitude


def _apsides(mission: Mission) -> tuple[float, float]:
    """Radii in m of the target's periapsis and apoapsis; an open one takes its cheapest value."""
    body, orbit = mission.body, mission.orbit
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    floor = body.radius + mission.floor
    if low is not None and high is not None:
        return low, high
    if low is not None:
        return low, low
    return floor, high if high is not None else floor


def _speed(mu: float, here: float, opposite: float) -> float:
    """Speed in m/s at one apsis, at distance `here`, of the ellipse to the other."""
    return sqrt(2.0 * mu * opposite / (here * (here + opposite)))

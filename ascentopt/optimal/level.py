"""Planes over the equator, where an orbit has no node for its argument of periapsis to count from.

The argument is the angle from the node to the periapsis, and a turn of the plane by an angle d
moves the node by d / sin i: over the equator nothing is left of it. An orbit that is said to be
equatorial counts from the x axis instead. One whose plane is free is flown over the equator where
the site lies there, unless it is kept from it: a plane turned by d costs as the square of d, and
with the node wherever it suits, the argument is then met for nothing.
"""

from __future__ import annotations

from math import pi

from ascentopt.mission import Mission
from ascentopt.world.ellipsoid import geocentric_latitude

LEVEL = 1e-6
"""rad. An orbit less inclined is equatorial to what its insertion may miss, and has no node."""

TILT = 1e-3
"""rad from the equator at which a node is where it is said to be: an insertion may miss the plane
by 10 m, 1.5e-6 rad on the Earth, and the node then by 1.5e-3. Turning the plane so much on the way
up costs v TILT^2 / 2, four millimetres per second."""


def flown_inclination(mission: Mission) -> float | None:
    """Inclination in rad that the flight ends with; None where it is free.

    The mission's, but for what is all but equatorial, and for a plane that would be but has to have
    a node.
    """
    inclination, node = mission.orbit.inclination, mission.orbit.ascending_node
    if node is not None:
        return inclination
    if inclination is None:
        has_none = _counts_from_a_node(mission) and _on_the_equator(mission)
        return _tilted(mission) if has_none else None
    if min(inclination, pi - inclination) < LEVEL:
        return 0.0 if inclination < 1.0 else pi
    return inclination


def _tilted(mission: Mission) -> float:
    """The way the body turns: what is cheapest, and no worse where it does not."""
    return TILT if mission.body.rotation_rate >= 0.0 else pi - TILT


def _counts_from_a_node(mission: Mission) -> bool:
    return getattr(mission.orbit, "argument_of_periapsis", None) is not None


def _on_the_equator(mission: Mission) -> bool:
    """Whether a plane of so little tilt passes over the site."""
    site = mission.site
    return abs(geocentric_latitude(mission.body, site.latitude, site.altitude)) < TILT

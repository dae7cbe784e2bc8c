"""The plane that a flight ends in, where the mission leaves open what would otherwise be singular.

Over the equator an orbit has no node: a turn of the plane by an angle d moves it by d / sin i. An
inclination is then no measure of the plane, and an argument of periapsis has nothing to count from.
An orbit that is said to be equatorial counts from the x axis instead. One whose plane is free is
flown over the equator where the site lies there, unless it is kept from it: a plane turned by d
costs as the square of d, and with the node wherever it suits, the argument is met for nothing.

At a pole all headings are alike. A flight whose node is free can be turned about the spin axis and
is as good, so the second derivatives along that turn are zero, and where the solver goes along it
is rounding's choice. There the node is held.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ascentopt.mission import Mission
from ascentopt.mission.lift_off import on_the_axis
from ascentopt.world.ellipsoid import geocentric_latitude

LEVEL = 1e-6
"""rad. An orbit less inclined is equatorial to what its insertion may miss, and has no node."""

TILT = 1e-3
"""rad from the equator at which a node is where it is said to be: an insertion may miss the plane
by 10 m, 1.5e-6 rad on the Earth, and the node then by 1.5e-3. Turning the plane so much on the way
up costs v TILT^2 / 2, four millimetres per second."""

HELD = -0.5 * pi
"""rad. The node of flights from a pole: any is as good as another."""


@dataclass(frozen=True)
class Plane:
    """Inclination and ascending node in rad; None where it is free."""

    inclination: float | None
    node: float | None

    @property
    def is_level(self) -> bool:
        """Whether it is said to be the equator's, which has no node."""
        return self.node is None and self.inclination in (0.0, pi)


def flown_plane(mission: Mission) -> Plane:
    """The plane that the flight ends in: the mission's, but for what would be singular."""
    orbit = mission.orbit
    if orbit.ascending_node is not None:
        return Plane(orbit.inclination, orbit.ascending_node)
    free = Plane(_inclination(mission), None)
    return Plane(free.inclination, HELD) if on_the_axis(mission) and not free.is_level else free


def _inclination(mission: Mission) -> float | None:
    """Of a plane whose node is free."""
    inclination = mission.orbit.inclination
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

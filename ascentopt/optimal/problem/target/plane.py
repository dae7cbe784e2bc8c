"""The plane that a flight ends in, where the mission leaves open what would otherwise be singular.

Over the equator an orbit has no node: a turn of the plane by an angle d moves it by d / sin i. An
inclination is then no measure of the plane, and an argument of periapsis has nothing to count from.
An orbit that is said to be equatorial counts from the x axis instead. One whose plane is free is
flown over the equator where the site lies there, unless it is kept from it: a plane turned by d
costs as the square of d, and with the node wherever it suits, the argument is met for nothing.

At a pole all headings are alike: a flight whose node is free can be turned about the spin axis and
is as good. The second derivatives along that turn are zero, beside the pole all but zero, and the
solver goes along it as rounding has it. There the node is held where it costs least.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi

from ascentopt.mission import Mission
from ascentopt.mission.orbit import is_equatorial
from ascentopt.world.ellipsoid import geocentric_latitude
from ascentopt.world.gravity import surface_circular_speed

TILT = 1e-3
"""rad from the equator at which a node is where it is said to be: an insertion may miss the plane
by 10 m, 1.5e-6 rad on the Earth, and the node then by 1.5e-3. Turning the plane so much on the way
up costs v TILT^2 / 2, four millimetres per second, or some times that, as the way up is short: 0.03
of 72000 kg measured."""

BESIDE = 2.0 * TILT
"""rad from a pole within which the node is held. The plane then passes the site by as much at most,
which costs four times what a tilt does (2 g of 72 t measured, to 98 deg from 89.9). There a part in
1e10 of the payload decides what is found, after 600 iterations; 0.1 deg further out 340 will do."""


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
    if free.is_level or not beside_a_pole(mission):
        return free
    return Plane(free.inclination, _held_node(mission, free.inclination))


def beside_a_pole(mission: Mission) -> bool:
    """Whether planes of all nodes pass over the site, but for so little."""
    return 0.5 * pi - abs(_latitude(mission)) < BESIDE


def _held_node(mission: Mission, inclination: float | None) -> float:
    """Node in rad of flights due east or west from beside a pole, whichever costs less.

    At the angle c from the pole the site gives omega R c to a flight due east, and lies nearer by c
    to a plane that leans to the east: a turn that costs v less for each radian. Towards the north
    or south there is neither, and the gain is stationary at both.
    """
    body = mission.body
    gain = body.rotation_rate * body.radius
    if inclination is not None:
        gain += surface_circular_speed(body) * cos(inclination)
    behind = (gain >= 0.0) == (_latitude(mission) >= 0.0)
    return mission.right_ascension + (-0.5 * pi if behind else 0.5 * pi)


def _inclination(mission: Mission) -> float | None:
    """Of a plane whose node is free."""
    inclination = mission.orbit.inclination
    if inclination is None:
        has_none = _counts_from_a_node(mission) and _on_the_equator(mission)
        return _tilted(mission) if has_none else None
    if is_equatorial(inclination):
        return 0.0 if inclination < 1.0 else pi
    return inclination


def _tilted(mission: Mission) -> float:
    """The way the body turns: what is cheapest, and no worse where it does not."""
    return TILT if mission.body.rotation_rate >= 0.0 else pi - TILT


def _counts_from_a_node(mission: Mission) -> bool:
    return getattr(mission.orbit, "argument_of_periapsis", None) is not None


def _on_the_equator(mission: Mission) -> bool:
    """Whether a plane of so little tilt passes over the site."""
    return abs(_latitude(mission)) < TILT


def _latitude(mission: Mission) -> float:
    site = mission.site
    return geocentric_latitude(mission.body, site.latitude, site.altitude)

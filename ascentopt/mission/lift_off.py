"""When to lift off: the body turns the site through the plane of an orbit twice a day.

A site at geocentric latitude phi whose meridian is at the angle a from the inertial x axis lies in
the plane of inclination i and ascending node n where sin(a - n) = tan(phi) / tan(i). Source: the
right triangle of site, node and equator; R. R. Bate, D. D. Mueller, J. E. White, *Fundamentals of
Astrodynamics*, Dover 1971, sec. 2.15 (from memory). An orbit over the equator has no node; its line
of apsides has a direction among the stars, which the body brings round once a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, asin, atan2, cos, inf, pi, sin

from ascentopt.mission.mission import ANGLE_TOLERANCE, Mission
from ascentopt.mission.orbit import EllipticalOrbit, is_equatorial, points_among_the_stars
from ascentopt.typing import Floats
from ascentopt.units import deg
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import geocentric_latitude
from ascentopt.world.orbital_elements import elements

ON_THE_AXIS = 1.0
"""m from the spin axis within which a site does not move: a tenth of what an insertion may miss."""

ROUNDING = 1e-6
"""s before the end of a day that are its beginning: the ground of the Earth moves by half a mm."""


@dataclass(frozen=True, kw_only=True)
class PlanePass:
    """An instant at which the site lies in the plane of the orbit.

    Args:
        time: s after the meridian of longitude zero lies on the inertial x axis.
        northward: whether the orbit goes north there, or else south.
    """

    time: float
    northward: bool

    def __str__(self) -> str:
        return f"{self.time:.1f} s ({'north' if self.northward else 'south'}ward)"


def day(body: Body) -> float:
    """Seconds in which the body turns once under the stars; infinite where it does not."""
    return 2.0 * pi / abs(body.rotation_rate) if body.rotation_rate else inf


def hangs_on_its_instant(mission: Mission) -> bool:
    """Whether the instant of lift-off decides which node, or line of apsides, is met."""
    return points_among_the_stars(mission.orbit) and mission.body.rotation_rate != 0.0


def waits_for_its_orbit(mission: Mission) -> bool:
    """Whether the instant of lift-off is free and decides which node, or apsides, are reached."""
    return mission.lift_off_time is None and hangs_on_its_instant(mission)


def time_to_turn(mission: Mission, angle: float, since: float = 0.0) -> float:
    """First instant in s, from ``since`` on, at which the site is ``angle`` rad further east.

    A site on the spin axis is where it is, and a body that does not turn leaves any there.
    """
    rate = mission.body.rotation_rate
    if rate == 0.0 or _on_the_axis(mission):
        return since
    wait = ((angle if rate > 0.0 else -angle) % (2.0 * pi)) / abs(rate)
    return since + (wait if wait < day(mission.body) - ROUNDING else 0.0)


def angle_to_turn(mission: Mission, state: Floats) -> float:
    """Rad eastward by which a flight must be turned to end at the node asked for, 0 to 2 pi.

    Over the equator, where there is no node, to the line of apsides asked for. Zero where neither
    is. ``state`` is (n,) inertial position and velocity at its end, m and m/s.
    """
    orbit = mission.orbit
    reached = elements(mission.body.gravitational_parameter, state[:3], state[3:6])
    node, turn = orbit.ascending_node, 2.0 * pi
    if is_equatorial(orbit.inclination):
        argument = orbit.argument_of_periapsis if isinstance(orbit, EllipticalOrbit) else None
        if argument is None:
            return 0.0
        wanted = _east_of_the_x_axis(node or 0.0, argument, orbit.inclination or 0.0)
        found = _east_of_the_x_axis(
            reached.ascending_node, reached.argument_of_periapsis, reached.inclination
        )
        return (wanted - found) % turn
    if node is None or is_equatorial(reached.inclination):
        return 0.0
    return (node - reached.ascending_node) % turn


def _east_of_the_x_axis(node: float, argument: float, inclination: float) -> float:
    """Right ascension of the periapsis in rad: well known over the equator, too."""
    return node + atan2(cos(inclination) * sin(argument), cos(argument))


def plane_passes(mission: Mission, since: float = 0.0) -> tuple[PlanePass, ...]:
    """Both instants within a day from ``since`` s at which the site lies in the plane, in turn.

    None where the plane is not given, the latitude is above the inclination, or nothing turns.
    """
    if not _known_and_turning(mission) or _latitude_above(mission):
        return ()
    here = mission.site.longitude + mission.body.rotation_rate * since
    north, south = (
        time_to_turn(mission, there - here, since) for there in _meridians_in_plane(mission)
    )
    found = PlanePass(time=north, northward=True), PlanePass(time=south, northward=False)
    return found if north <= south else found[::-1]


def out_of_plane(mission: Mission) -> float:
    """Angle in rad from the plane of the orbit to the site at lift-off, north of it positive."""
    inclination, node = _plane(mission)
    latitude = _latitude(mission)
    east = sin(mission.right_ascension - node)
    sine = cos(inclination) * sin(latitude) - sin(inclination) * cos(latitude) * east
    return asin(min(max(sine, -1.0), 1.0))


def angle_that_waiting_saves(mission: Mission) -> float:
    """Least angle in rad to turn a plane over the site at lift-off into that of the orbit.

    Of planes with its inclination; where none passes over the site, of those that come nearest.
    Zero where waiting changes nothing.
    """
    if not _known_and_turning(mission):
        return 0.0
    inclination, _ = _plane(mission)
    here = mission.right_ascension
    cosines = (
        cos(inclination) ** 2 + sin(inclination) ** 2 * cos(here - there)
        for there in _meridians_in_plane(mission)
    )
    return acos(min(max(*cosines, -1.0), 1.0))


def lift_off_text(mission: Mission) -> str:
    """The instant of lift-off and those at which the site lies in the plane.

    Empty where the instant does not matter.
    """
    if not hangs_on_its_instant(mission):
        return ""
    what = "line of apsides" if mission.orbit.ascending_node is None else "ascending node"
    length = f"a day of {day(mission.body):.1f} s"
    if mission.lift_off_time is None:
        text = f"lift-off at the instant of {length} that suits the {what}"
    else:
        text = f"lift-off at {mission.lift_off_time:.1f} s of {length}"
    return f"{text}; {passes_text(mission)}" if _known_and_turning(mission) else text


def passes_text(mission: Mission, since: float = 0.0) -> str:
    """When the site lies in the plane within a day from ``since`` s, or why it never does."""
    passes = plane_passes(mission, since)
    if passes:
        return "the site lies in the orbit's plane at " + " and ".join(map(str, passes))
    latitude, inclination = abs(_latitude(mission)), _plane(mission)[0]
    reach = min(inclination, pi - inclination)
    return (
        "the site never lies in the orbit's plane: its geocentric latitude is "
        f"{latitude / deg:.6g} deg, and the plane passes over {reach / deg:.6g} deg at most"
    )


def _plane(mission: Mission) -> tuple[float, float]:
    """Inclination and node in rad, zero where they are free."""
    return mission.orbit.inclination or 0.0, mission.orbit.ascending_node or 0.0


def _known_and_turning(mission: Mission) -> bool:
    """Whether a plane is given and the site moves through it."""
    orbit = mission.orbit
    given = orbit.inclination is not None and orbit.ascending_node is not None
    return given and mission.body.rotation_rate != 0.0 and not _on_the_axis(mission)


def _latitude(mission: Mission) -> float:
    site = mission.site
    return geocentric_latitude(mission.body, site.latitude, site.altitude)


def _latitude_above(mission: Mission) -> bool:
    inclination = _plane(mission)[0]
    return abs(_latitude(mission)) > min(inclination, pi - inclination) + ANGLE_TOLERANCE


def _on_the_axis(mission: Mission) -> bool:
    return cos(_latitude(mission)) * mission.body.radius < ON_THE_AXIS


def _meridians_in_plane(mission: Mission) -> tuple[float, float]:
    """Meridians in rad at which the orbit passes over the latitude, north- and southward.

    Where it never does, twice the one at which it comes nearest.
    """
    inclination, node = _plane(mission)
    latitude = _latitude(mission)
    ratio = cos(inclination) * sin(latitude) / (sin(inclination) * cos(latitude))
    east = asin(min(max(ratio, -1.0), 1.0))
    return node + east, node + pi - east

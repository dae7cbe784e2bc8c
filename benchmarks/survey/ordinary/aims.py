"""Orbits of ordinary missions: low, high, stationary, and ellipses told in part or whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from ascentopt.mission import CircularOrbit, EllipticalOrbit, Orbit
from ascentopt.units import deg, km
from ascentopt.world import Body
from benchmarks.survey.draw import Draw
from benchmarks.survey.places import Place

_FURTHEST = 6.5
"""Highest altitude in radii of the body: the Earth's stationary orbit is among them, and two
impulses are still the cheapest way (from 10.9 radii on, three may be: Hoelker and Silber, 1959)."""

_ABOVE = 300.0  # m: an orbit lies above air and ground, and above every vertical rise drawn


@dataclass(frozen=True, kw_only=True)
class Aim:
    """An orbit before the library sees it, which may refuse what is drawn here.

    `elements` are those given; `low` and `high` the altitudes in m of the cheapest orbit that has
    them, as far as two impulses tell.
    """

    kind: str
    low: float
    high: float
    elements: Mapping[str, float] = field(default_factory=dict)
    inclination: float | None = None

    @property
    def orbit(self) -> Orbit:
        """The orbit. Raises `InputError` for one that the library does not take."""
        if self.circular:
            return CircularOrbit(altitude=self.low, inclination=self.inclination)
        return EllipticalOrbit(**self.elements, inclination=self.inclination)

    @property
    def cheapest(self) -> Orbit:
        """The cheapest orbit with these elements, in whatever plane."""
        if self.low == self.high:
            return CircularOrbit(altitude=self.low)
        return EllipticalOrbit(periapsis_altitude=self.low, apoapsis_altitude=self.high)

    @property
    def circular(self) -> bool:
        """Whether a circle is asked for."""
        return not self.elements

    @property
    def distant(self) -> bool:
        """Whether the way there is a coast of its own."""
        return self.kind in ("high", "stationary")


def draw_aim(draw: Draw, place: Place, latitude: float, floor: float) -> Aim:
    """An orbit above `floor` m for a site of this geocentric latitude in rad."""
    kind = draw.weighted(((0.28, "low"), (0.2, "high"), (0.12, "stationary"), (0.4, "ellipse")))
    stationary = stationary_altitude(place.body)
    if kind == "stationary" and place.lowest < stationary < _FURTHEST * place.body.radius:
        plane = 0.0 if abs(latitude) < 70 * deg else _plane(draw, latitude, 40 * deg)
        return Aim(kind=kind, low=stationary, high=stationary, inclination=plane)
    if kind in ("high", "stationary"):
        most = min(40e3 * km, _FURTHEST * place.body.radius)
        height = draw.log_uniform(min(2000 * km, 0.5 * most), most)
        plane = _plane(draw, latitude, 40 * deg)
        return Aim(kind="high", low=height, high=height, inclination=plane)
    if kind == "low":
        height = draw.log_uniform(place.lowest, place.highest)
        plane = _plane(draw, latitude, 12 * deg)
        return Aim(kind=kind, low=height, high=height, inclination=plane)
    return _ellipse(draw, place, floor + _ABOVE, _plane(draw, latitude, 12 * deg))


def stationary_altitude(body: Body) -> float:
    """Altitude in m at which a satellite stands still above the equator."""
    radius: float = (body.gravitational_parameter / body.rotation_rate**2) ** (1.0 / 3.0)
    return radius - body.radius


def _plane(draw: Draw, latitude: float, most_turn: float) -> float | None:
    """Free, above the latitude, below it by `most_turn` at most, polar or retrograde: rad."""
    least, share, turn = abs(latitude), draw.uniform(0.02, 0.95), draw.uniform(0.05, 1.0)
    kind = draw.weighted(
        (
            (0.25, "free"),
            (0.24, "prograde"),
            (0.26, "below"),
            (0.08, "polar"),
            (0.11, "retrograde"),
            (0.06, "east"),
        )
    )
    above = least + share * (0.5 * pi - least)
    planes = {
        "free": None,
        "prograde": above,
        "below": max(least - turn * most_turn, 0.0),
        "polar": draw.uniform(88.0, 92.0) * deg,
        "retrograde": pi - above,
        "east": least,
    }
    return planes[kind]


def _ellipse(draw: Draw, place: Place, floor: float, inclination: float | None) -> Aim:
    """One that is given by one or two of its elements, with or without an argument of periapsis."""
    body = place.body
    low = draw.log_uniform(place.lowest, place.highest + place.lowest)
    high = low + draw.log_uniform(0.02, 5.0) * body.radius
    kind = draw.weighted(
        (
            (0.25, "apsides"),
            (0.15, "axis and eccentricity"),
            (0.17, "apoapsis alone"),
            (0.15, "periapsis alone"),
            (0.14, "axis alone"),
            (0.14, "eccentricity alone"),
        )
    )
    axis = body.radius + 0.5 * (low + high)
    eccentricity = 0.5 * (high - low) / axis
    given = {
        "apsides": {"periapsis_altitude": low, "apoapsis_altitude": high},
        "axis and eccentricity": {"semi_major_axis": axis, "eccentricity": eccentricity},
        "apoapsis alone": {"apoapsis_altitude": high},
        "periapsis alone": {"periapsis_altitude": low},
        "axis alone": {"semi_major_axis": axis},
        "eccentricity alone": {"eccentricity": eccentricity},
    }[kind]
    ends = {
        "apoapsis alone": (floor, high),
        "periapsis alone": (low, low),
        "axis alone": (floor, low + high - floor),
        "eccentricity alone": (floor, _opposite(body, floor, eccentricity)),
    }.get(kind, (low, high))
    shaped = kind in ("apsides", "axis and eccentricity", "eccentricity alone")
    if shaped and draw.chance(0.4):
        given = given | {"argument_of_periapsis": draw.uniform(-180.0, 180.0) * deg}
        kind += ", argument given"
    return Aim(kind=kind, low=ends[0], high=ends[1], elements=given, inclination=inclination)


def _opposite(body: Body, low: float, eccentricity: float) -> float:
    return (body.radius + low) * (1.0 + eccentricity) / (1.0 - eccentricity) - body.radius

"""Where ordinary missions start: known bodies, one that spins fast, and one with little gravity."""

from __future__ import annotations

from math import pi, sqrt

from ascentopt.mission import LaunchSite
from ascentopt.units import deg, km
from ascentopt.world import Atmosphere, Body, earth, mars, moon
from benchmarks.survey.draw import Draw
from benchmarks.survey.places import Place
from benchmarks.survey.places import draw_place as draw_old_place

HOUR = 3600.0  # s

_MOST_SPIN = 0.4
"""Greatest centrifugal share of gravity at the equator: beyond it a planet is no near-sphere."""


def draw_place(draw: Draw) -> Place:
    """A body, and the altitudes in m between which its low orbits lie."""
    kind = draw.weighted(
        (
            (0.38, "earth"),
            (0.1, "mars"),
            (0.12, "moon"),
            (0.16, "spinner"),
            (0.14, "small"),
            (0.1, "old"),
        )
    )
    if kind == "old":
        return draw_old_place(draw)
    makers = {"spinner": _spinner, "small": _small}
    known = {"earth": earth, "mars": mars, "moon": moon}
    body = makers[kind](draw) if kind in makers else known[kind]()
    air = body.atmosphere
    lowest = 1.05 * air.ceiling if air is not None else max(10 * km, 0.01 * body.radius)
    return Place(body=body, lowest=lowest, highest=lowest + 0.2 * body.radius)


def _spinner(draw: Draw) -> Body:
    """A planet with a day of two to six hours, flattened by it as a fluid about would be."""
    gravity, radius = draw.uniform(6.0, 10.5), draw.uniform(4000, 7000) * km
    day = max(draw.uniform(2.0, 6.0) * HOUR, 2 * pi * sqrt(radius / (_MOST_SPIN * gravity)))
    spin = 2 * pi / day * draw.weighted(((0.85, 1.0), (0.15, -1.0)))
    share = spin**2 * radius / gravity if draw.chance(0.6) else 0.0
    return Body(
        name="Whirl",
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=spin,
        atmosphere=_air(draw, 0.3, 1.5) if draw.chance(0.7) else None,
        j2=min(0.25 * share, 0.03),
        flattening=min(0.6 * share, 0.12),
    )


def _small(draw: Draw) -> Body:
    """A small planet: rockets have thrust to spare, and the air is thin or none."""
    gravity, radius = draw.uniform(0.3, 2.0), draw.uniform(250, 1000) * km
    return Body(
        name="Pebble",
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=2 * pi / (draw.uniform(5.0, 60.0) * HOUR),
        atmosphere=_air(draw, 1e-3, 5e-2) if draw.chance(0.4) else None,
    )


def _air(draw: Draw, thin: float, dense: float) -> Atmosphere:
    scale_height = draw.uniform(5.0, 8.5) * km
    return Atmosphere.exponential(
        surface_density=draw.log_uniform(thin, dense),
        scale_height=scale_height,
        ceiling=draw.uniform(11.0, 14.0) * scale_height,
        surface_temperature=288.15,
    )


def draw_site(draw: Draw) -> LaunchSite:
    """A site; some on the equator, some near a pole or on it."""
    side = draw.one_of((1.0, -1.0))
    kind = draw.weighted(((0.82, "anywhere"), (0.08, "equator"), (0.08, "arctic"), (0.02, "pole")))
    latitudes = {
        "anywhere": draw.uniform(0.0, 65.0),
        "equator": 0.0,
        "arctic": draw.uniform(85.0, 90.0),
        "pole": 90.0,
    }
    altitude = draw.one_of((0.0, draw.uniform(0.0, 1500.0)))
    latitude = side * latitudes[kind] * deg if latitudes[kind] else 0.0
    return LaunchSite(latitude=latitude, altitude=altitude)

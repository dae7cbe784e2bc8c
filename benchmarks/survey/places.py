"""Where the survey launches from and to: real bodies and invented ones."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, pi, sqrt

from ascentopt.mission import (
    CircularOrbit,
    EllipticalOrbit,
    FlightLimits,
    LaunchSite,
    Mission,
)
from ascentopt.units import deg, km
from ascentopt.world import Atmosphere, Body, earth, geocentric_latitude, mars, moon
from benchmarks.survey.bound import impulsive_bound
from benchmarks.survey.draw import Draw

# Density above which an ascent still climbs rather than turns; it sets the estimate of losses.
_THIN = 1e-2  # kg/m^3


@dataclass(frozen=True, kw_only=True)
class Place:
    """A body and what an orbit around it may be: `lowest` and `highest` altitude in m."""

    body: Body
    lowest: float
    highest: float


def draw_place(draw: Draw) -> Place:
    """Earth most often, then Mars, the Moon and two invented planets."""
    name = draw.weighted(
        ((0.42, "earth"), (0.2, "mars"), (0.14, "moon"), (0.12, "thick"), (0.12, "heavy"))
    )
    makers = {"thick": _thick, "heavy": _heavy}
    body = (
        makers[name](draw)
        if name in makers
        else {"earth": earth, "mars": mars, "moon": moon}[name]()
    )
    air = body.atmosphere
    lowest = 1.05 * air.ceiling if air is not None else 15 * km
    return Place(body=body, lowest=lowest, highest=1500 * km)


def _thick(draw: Draw) -> Body:
    """A small planet under a low, dense, cold atmosphere."""
    gravity, radius = draw.uniform(3.5, 5.5), draw.uniform(2200, 3200) * km
    scale_height = draw.uniform(3.5, 5.5) * km
    air = Atmosphere.exponential(
        surface_density=draw.uniform(2.0, 4.0),
        scale_height=scale_height,
        ceiling=16.0 * scale_height,
        surface_temperature=240.0,
        gas_constant=190.0,
        heat_capacity_ratio=1.3,
    )
    return Body(
        name="Calyx",
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=2 * pi / draw.uniform(5e4, 2e5),
        atmosphere=air,
    )


def _heavy(draw: Draw) -> Body:
    """A planet heavier than the Earth that chemical rockets can still leave."""
    gravity, radius = draw.uniform(10.5, 12.0), draw.uniform(6600, 7400) * km
    air = Atmosphere.exponential(
        surface_density=draw.uniform(0.8, 1.6),
        scale_height=draw.uniform(6.5, 8.0) * km,
        ceiling=110 * km,
        surface_temperature=288.15,
    )
    return Body(
        name="Brunt",
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=2 * pi / draw.uniform(4e4, 1.2e5),
        atmosphere=air,
        j2=draw.one_of((0.0, 1.5e-3)),
    )


def draw_mission(draw: Draw, place: Place) -> Mission:
    """A site, an orbit and a vertical rise; limits are drawn when the vehicle is known."""
    latitude = draw.uniform(0.0, 65.0) * deg * draw.one_of((1.0, -1.0))
    if draw.chance(0.08):
        latitude = 0.0
    site = LaunchSite(latitude=latitude, altitude=draw.one_of((0.0, draw.uniform(0.0, 1500.0))))
    inclination = _draw_inclination(draw, geocentric_latitude(place.body, latitude, site.altitude))
    rise = None if draw.chance(0.1) else draw.uniform(30.0, 250.0)
    return Mission(
        body=place.body,
        site=site,
        orbit=_draw_orbit(draw, place, inclination),
        limits=FlightLimits.none(),
        vertical_rise=rise,
    )


def _draw_inclination(draw: Draw, latitude: float) -> float | None:
    """None, due east or beyond it, polar, or retrograde: rad."""
    least = abs(latitude)
    kind = draw.weighted(
        ((0.4, "free"), (0.3, "prograde"), (0.08, "east"), (0.1, "polar"), (0.12, "retrograde"))
    )
    if kind == "free":
        return None
    if kind == "east":
        return least
    if kind == "polar":
        return 0.5 * pi
    share = draw.uniform(0.02, 0.95)
    inclination = least + share * (0.5 * pi - least)
    return inclination if kind == "prograde" else pi - inclination


def _draw_orbit(
    draw: Draw, place: Place, inclination: float | None
) -> CircularOrbit | EllipticalOrbit:
    low = draw.log_uniform(place.lowest, place.highest)
    if draw.chance(0.2):
        low = draw.uniform(1.0, 1.1) * place.lowest
    if draw.chance(0.85):
        return CircularOrbit(altitude=low, inclination=inclination)
    high = low + draw.log_uniform(50 * km, 3.0 * place.body.radius)
    orbit = EllipticalOrbit(periapsis_altitude=low, apoapsis_altitude=high, inclination=inclination)
    if draw.chance(0.25):
        return replace(orbit, argument_of_periapsis=draw.uniform(-180.0, 180.0) * deg)
    return orbit


def losses_estimate(mission: Mission, thrust_to_weight: float) -> float:
    """Typical losses in m/s to gravity, air and steering, for a vehicle of this lift-off T/W.

    A fit by eye (common practice, no source): some 1300 m/s on the Earth, 450 on Mars and 80 on
    the Moon at a lift-off thrust-to-weight of 1.4.
    """
    body = mission.body
    circular = sqrt(body.gravitational_parameter / body.radius)
    gravity = body.gravitational_parameter / body.radius**2
    climb = 0.0
    if body.atmosphere is not None:
        surface = body.atmosphere.density(0.0)
        steepness = log(surface / body.atmosphere.density(10 * km)) / (10 * km)
        climb = max(0.0, log(surface / _THIN) / steepness)
    return (0.06 * circular + sqrt(2.0 * gravity * climb)) * sqrt(1.4 / thrust_to_weight)


def needed_estimate(mission: Mission, thrust_to_weight: float) -> float:
    """Ideal delta-v in m/s that a vehicle probably needs: the impulsive bound and the losses."""
    return impulsive_bound(mission) + losses_estimate(mission, thrust_to_weight)

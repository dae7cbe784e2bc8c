"""Invented vehicles on missions, by name; real and invented bodies."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.mission import CircularOrbit, FlightLimits, LaunchSite, Mission
from ascentopt.rocket import Vehicle
from ascentopt.scenarios import vehicles, vehicles_elsewhere
from ascentopt.tables import in_a_line
from ascentopt.units import deg, km, kPa
from ascentopt.validation import instance, named
from ascentopt.world import Atmosphere, Body, earth, mars, moon

MARBLE = Body(
    name="Marble",  # 8 m/s^2 at the ground, and thick air that ends at 50 km
    gravitational_parameter=2e12,
    radius=500 * km,
    rotation_rate=2e-4,
    atmosphere=Atmosphere.exponential(
        surface_density=2.0, scale_height=4 * km, ceiling=50 * km, surface_temperature=288.15
    ),
)
PEBBLE = Body(
    name="Pebble",  # 9.2 m/s^2 at the ground, and air like the Earth's
    gravitational_parameter=9.2 * (640 * km) ** 2,
    radius=640 * km,
    rotation_rate=2.2e-4,
    atmosphere=Atmosphere.exponential(
        surface_density=1.25, scale_height=5.5 * km, ceiling=68 * km, surface_temperature=288.15
    ),
)


@checked
@dataclass(frozen=True, kw_only=True)
class Scenario:
    """A vehicle on a mission, under a name that tables and files use.

    Args:
        name: of `scenarios()` in lower case, the body first.
        vehicle, mission: to be flown.

    Raises:
        InputError: for a name without a letter, or what is no vehicle and no mission.
    """

    name: str
    vehicle: Vehicle
    mission: Mission

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        named("Scenario", self.name, "Give the scenario a name.")
        owner = f"Scenario {self.name!r}"
        instance(owner, "vehicle", self.vehicle, (Vehicle,), "Give a Vehicle.")
        instance(owner, "mission", self.mission, (Mission,), "Give a Mission.")


def scenarios() -> dict[str, Scenario]:
    """All of them, by name, in the order of the published table; anew with every call."""
    return {one.name: one for one in (*_on_earth(), *_elsewhere())}


def _from_earth(
    latitude: float,
    altitude: float,
    inclination: float | None = None,
    dynamic_pressure: float | None = None,
) -> Mission:
    return Mission(
        body=earth(),
        site=LaunchSite(latitude=latitude, altitude=40.0),
        orbit=CircularOrbit(altitude=altitude, inclination=inclination),
        limits=FlightLimits(dynamic_pressure=dynamic_pressure),
    )


def _from(body: Body, latitude: float, altitude: float) -> Mission:
    site = LaunchSite(latitude=latitude)
    return Mission(body=body, site=site, orbit=CircularOrbit(altitude=altitude))


def _on_earth() -> tuple[Scenario, ...]:
    south, north = -12 * deg, 45 * deg
    return (
        Scenario(
            name="earth-small",
            vehicle=vehicles.PHALAROPE,
            mission=Mission(
                body=earth(),
                site=LaunchSite(name="Heron Spit", latitude=south, altitude=40.0),
                orbit=CircularOrbit(altitude=250 * km),
            ),
        ),
        Scenario(
            name="earth-weak-upper",
            vehicle=vehicles.TURNSTONE,
            mission=_from_earth(south, 300 * km, dynamic_pressure=40 * kPa),
        ),
        Scenario(
            name="earth-large-slow",
            vehicle=vehicles.GODWIT,
            mission=_from_earth(south, 200 * km, dynamic_pressure=35 * kPa),
        ),
        Scenario(
            name="earth-large-brisk",
            vehicle=vehicles.CURLEW,
            mission=_from_earth(south, 400 * km),
        ),
        Scenario(
            name="earth-boosters",
            vehicle=vehicles.AVOCET,
            mission=_from_earth(south, 250 * km),
        ),
        Scenario(
            name="earth-solid-first",
            vehicle=vehicles.RUFF,
            mission=_from_earth(south, 250 * km),
        ),
        Scenario(
            name="earth-inclined",
            vehicle=vehicles.CURLEW,
            mission=_from_earth(north, 300 * km, inclination=65 * deg),
        ),
        Scenario(
            name="earth-strong-first",
            vehicle=vehicles.SNIPE,
            mission=_from_earth(south, 300 * km),
        ),
    )


def _elsewhere() -> tuple[Scenario, ...]:
    ledge = Mission(
        body=MARBLE,
        site=LaunchSite(name="The Ledge", latitude=5 * deg),
        orbit=CircularOrbit(altitude=90 * km),
    )
    shore = Mission(
        body=PEBBLE,
        site=LaunchSite(latitude=0.0, altitude=70.0),
        orbit=CircularOrbit(altitude=85 * km),
    )
    return (
        Scenario(
            name="mars-two-stages",
            vehicle=vehicles_elsewhere.STINT,
            mission=_from(mars(), 20 * deg, 250 * km),
        ),
        Scenario(
            name="mars-one-stage",
            vehicle=vehicles_elsewhere.WHIMBREL,
            mission=_from(mars(), 20 * deg, 200 * km),
        ),
        Scenario(
            name="moon-brisk",
            vehicle=vehicles_elsewhere.SANDERLING,
            mission=_from(moon(), 10 * deg, 100 * km),
        ),
        Scenario(
            name="moon-two-stages-slow",
            vehicle=vehicles_elsewhere.DOTTEREL,
            mission=_from(moon(), -30 * deg, 60 * km),
        ),
        Scenario(name="marble-thick-air", vehicle=vehicles_elsewhere.KNOT, mission=ledge),
        Scenario(name="pebble-strong-first", vehicle=vehicles_elsewhere.DUNLIN, mission=shore),
        Scenario(name="pebble-relit-first", vehicle=vehicles_elsewhere.REDSHANK, mission=shore),
        Scenario(name="pebble-weak-upper", vehicle=vehicles_elsewhere.LAPWING, mission=shore),
    )

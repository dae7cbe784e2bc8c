"""The scenarios: invented vehicles and pads, real and invented bodies."""

from __future__ import annotations

from dataclasses import dataclass

import ascentopt as ao
from ascentopt.units import deg, km, kPa
from benchmarks.heuristics import vehicles
from examples.compare_laws import HERON_SPIT, KNOT, LEDGE, PHALAROPE
from examples.first_ascent import TURNSTONE


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """A vehicle on a mission, under a name that tables and file names use."""

    name: str
    vehicle: ao.Vehicle
    mission: ao.Mission


def _from_earth(
    latitude: float, altitude: float, inclination: float | None = None, **limits: float
) -> ao.Mission:
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=latitude, altitude=40.0),
        orbit=ao.CircularOrbit(altitude=altitude, inclination=inclination),
        limits=ao.FlightLimits(**limits),
    )


def _from(body: ao.Body, latitude: float, altitude: float) -> ao.Mission:
    return ao.Mission(
        body=body,
        site=ao.LaunchSite(latitude=latitude),
        orbit=ao.CircularOrbit(altitude=altitude),
    )


def scenarios() -> tuple[Scenario, ...]:
    """All of them, each name once."""
    south, north = -12 * deg, 45 * deg
    return (
        Scenario(
            name="earth-small",
            vehicle=PHALAROPE,
            mission=HERON_SPIT,
        ),
        Scenario(
            name="earth-weak-upper",
            vehicle=TURNSTONE,
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
            name="mars-two-stages",
            vehicle=vehicles.STINT,
            mission=_from(ao.mars(), 20 * deg, 250 * km),
        ),
        Scenario(
            name="mars-one-stage",
            vehicle=vehicles.WHIMBREL,
            mission=_from(ao.mars(), 20 * deg, 200 * km),
        ),
        Scenario(
            name="moon-brisk",
            vehicle=vehicles.SANDERLING,
            mission=_from(ao.moon(), 10 * deg, 100 * km),
        ),
        Scenario(
            name="moon-two-stages-slow",
            vehicle=vehicles.DOTTEREL,
            mission=_from(ao.moon(), -30 * deg, 60 * km),
        ),
        Scenario(
            name="marble-thick-air",
            vehicle=KNOT,
            mission=LEDGE,
        ),
    )

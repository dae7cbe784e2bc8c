"""An invented small planet, and rockets whose first stage throws its apoapsis beyond the orbit."""

from __future__ import annotations

from dataclasses import replace

import ascentopt as ao
from ascentopt.units import km, kN, tonne

PEBBLE = ao.Body(
    name="Pebble",
    gravitational_parameter=9.2 * (640 * km) ** 2,
    radius=640 * km,
    rotation_rate=2.2e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=1.25, scale_height=5.5 * km, ceiling=68 * km
    ),
)
MISSION = ao.Mission(
    body=PEBBLE,
    site=ao.LaunchSite(latitude=0.0, altitude=70.0),
    orbit=ao.CircularOrbit(altitude=85 * km),
)
DUNLIN = ao.Vehicle(
    name="Dunlin",
    payload_mass=900.0,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=7.5 * tonne,
            dry_mass=1.3 * tonne,
            engine=ao.Engine(vacuum_thrust=190 * kN, vacuum_isp=312.0, sea_level_isp=272.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=2.0 * tonne,
            dry_mass=0.45 * tonne,
            engine=ao.Engine(vacuum_thrust=35 * kN, vacuum_isp=340.0),
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.3, drag_coefficient=0.3),
)
"""Both engines burn once. Kicked by 5 degrees at 50 m/s the first stage alone goes too high."""


def relit(*restarts: int, vehicle: ao.Vehicle = DUNLIN) -> ao.Vehicle:
    """The vehicle with stages that can be lit again so often."""
    pairs = zip(vehicle.stages, restarts, strict=True)
    return replace(vehicle, stages=tuple(replace(one, restarts=more) for one, more in pairs))


def strong_lower() -> ao.Vehicle:
    """With a first stage that all but reaches the orbit alone, and can be lit again."""
    lower, upper = DUNLIN.stages
    engine = ao.Engine(vacuum_thrust=260 * kN, vacuum_isp=312.0, sea_level_isp=272.0)
    strong = replace(lower, propellant_mass=11 * tonne, engine=engine, restarts=1)
    return replace(DUNLIN, stages=(strong, upper))


def weak_upper() -> ao.Vehicle:
    """With an upper stage that burns longer than the coast lasts."""
    lower, upper = DUNLIN.stages
    engine = ao.Engine(vacuum_thrust=6 * kN, vacuum_isp=340.0)
    return replace(DUNLIN, stages=(lower, replace(upper, engine=engine)))

"""A launcher whose lower stage does all of the work, on a small planet with air."""

from __future__ import annotations

from math import pi

import ascentopt as ao
from ascentopt.units import deg, hour, km, kN, tonne

_RADIUS = 420 * km

CINDER = ao.Body(
    name="Cinder",
    gravitational_parameter=3.1 * _RADIUS**2,
    radius=_RADIUS,
    rotation_rate=2.0 * pi / (5.0 * hour),
    atmosphere=ao.Atmosphere.exponential(surface_density=0.9, scale_height=6 * km, ceiling=60 * km),
)

MISSION = ao.Mission(
    body=CINDER,
    site=ao.LaunchSite(latitude=15 * deg),
    orbit=ao.CircularOrbit(altitude=70 * km),
)


def _stage(name: str, tonnes: float, dry: float, engine: ao.Engine, restarts: int = 1) -> ao.Stage:
    mass = tonnes * tonne
    return ao.Stage(
        name=name, propellant_mass=mass, dry_mass=dry * mass, engine=engine, restarts=restarts
    )


def _overshot(payload: float, thrusts: tuple[float, float], restarts: int) -> ao.Vehicle:
    """Stages of so many N, the lower one lit again so often."""
    low, high = thrusts
    lower = ao.Engine(vacuum_thrust=low, vacuum_isp=290.0, sea_level_isp=262.0)
    upper = ao.Engine(vacuum_thrust=high, vacuum_isp=320.0)
    return ao.Vehicle(
        name="Overshot",
        payload_mass=payload,
        stages=(_stage("big", 3.0, 0.10, lower, restarts), _stage("small", 0.5, 0.12, upper)),
        aerodynamics=ao.Aerodynamics(reference_area=1.1, drag_coefficient=0.45),
    )


VEHICLE = _overshot(1500.0, (27 * kN, 5 * kN), restarts=1)

WEAK = _overshot(700.0, (21 * kN, 3 * kN), restarts=0)
"""The lower stage, not lit again, carries the flight beyond the orbit: it has to be wasteful."""

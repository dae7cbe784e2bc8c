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

_AIR = ao.Aerodynamics(reference_area=1.1, drag_coefficient=0.45)


def _stage(name: str, tonnes: float, dry: float, engine: ao.Engine, restarts: int = 1) -> ao.Stage:
    mass = tonnes * tonne
    return ao.Stage(
        name=name, propellant_mass=mass, dry_mass=dry * mass, engine=engine, restarts=restarts
    )


VEHICLE = ao.Vehicle(
    name="Overshot",
    payload_mass=1500.0,
    stages=(
        _stage(
            "big",
            3.0,
            0.10,
            ao.Engine(vacuum_thrust=27 * kN, vacuum_isp=290.0, sea_level_isp=262.0),
        ),
        _stage("small", 0.5, 0.12, ao.Engine(vacuum_thrust=5 * kN, vacuum_isp=320.0)),
    ),
    aerodynamics=_AIR,
)

WEAK = ao.Vehicle(
    name="Overshot",
    payload_mass=700.0,
    stages=(
        _stage(
            "big",
            3.0,
            0.10,
            ao.Engine(vacuum_thrust=21 * kN, vacuum_isp=290.0, sea_level_isp=262.0),
            restarts=0,
        ),
        _stage("small", 0.5, 0.12, ao.Engine(vacuum_thrust=3 * kN, vacuum_isp=320.0)),
    ),
    aerodynamics=_AIR,
)
"""The lower stage, not lit again, carries the flight beyond the orbit: it has to be wasteful."""

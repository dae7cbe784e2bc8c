"""An invented rocket on an invented small planet: everything on it is quick."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import km, kN, tonne

VEHICLE = ao.Vehicle(
    name="Wren",
    payload_mass=800.0,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=12 * tonne,
            dry_mass=2.2 * tonne,
            engine=ao.Engine(vacuum_thrust=173 * kN, vacuum_isp=310.0, sea_level_isp=265.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=3.2 * tonne,
            dry_mass=0.7 * tonne,
            engine=ao.Engine(vacuum_thrust=30 * kN, vacuum_isp=345.0),
            restarts=2,
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.2, drag_coefficient=0.35),
)
KETTLE = ao.Body(
    name="Kettle",
    gravitational_parameter=5.25e12,
    radius=900 * km,
    rotation_rate=1.93e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=1.2,
        scale_height=8.4 * km,
        ceiling=105 * km,
        surface_temperature=288.15,
    ),
)
MISSION = ao.Mission(
    body=KETTLE,
    site=ao.LaunchSite(latitude=0.0, altitude=90.0),
    orbit=ao.CircularOrbit(altitude=120 * km),
)

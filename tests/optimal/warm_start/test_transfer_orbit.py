"""By a transfer: half a revolution to orbits far above the ground."""

from __future__ import annotations

from math import exp, sqrt

import ascentopt as ao
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, tonne

SANDERLING = ao.Vehicle(
    name="Sanderling",
    payload_mass=0.5 * tonne,
    stages=(
        ao.Stage(
            name="only",
            propellant_mass=4 * tonne,
            dry_mass=0.6 * tonne,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=25 * kN, vacuum_isp=320.0),
        ),
    ),
)


def to(orbit: ao.CircularOrbit | ao.EllipticalOrbit) -> ao.Ascent:
    """From ten degrees north on the Moon."""
    return ao.optimize(
        SANDERLING,
        ao.Mission(body=ao.moon(), site=ao.LaunchSite(latitude=10 * deg), orbit=orbit),
    )


def test_a_high_lunar_circle_is_no_dearer_than_the_ellipse_that_touches_it_and_a_burn_there() -> (
    None
):
    """By the rocket equation from the ellipse of 20 by 3000 km, an impulse at its apoapsis."""
    ellipse = to(ao.EllipticalOrbit(periapsis_altitude=20 * km, apoapsis_altitude=3000 * km))
    mu, low, high = (
        ao.moon().gravitational_parameter,
        ao.moon().radius + 20 * km,
        ao.moon().radius + 3000 * km,
    )
    impulse = sqrt(mu / high) - sqrt(2.0 * mu * (1.0 / high - 1.0 / (low + high)))
    by_hand = ellipse.final_mass * exp(-impulse / (320.0 * STANDARD_GRAVITY))
    circle = to(ao.CircularOrbit(altitude=3000 * km))
    # A burn of half a minute turns by 3 mrad: it loses some 1e-7 of its speed to the impulse.
    assert circle.final_mass > by_hand - 0.01
    assert not circle.certificate.beyond()

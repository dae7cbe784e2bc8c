"""By a transfer: half a revolution to orbits far above the ground."""

from __future__ import annotations

from math import exp, sqrt

import pytest

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


@pytest.mark.parametrize(
    "altitude",
    [
        7000 * km,
        pytest.param(10000 * km, marks=pytest.mark.slow),
        pytest.param(15000 * km, marks=pytest.mark.slow),
    ],
)
def test_a_lunar_circle_of_several_radii_costs_what_the_transfer_to_it_does(
    altitude: float,
) -> None:
    """By the rocket equation from a circle of 3000 km, the start alike and all impulses Hohmann's.

    From the ground, v1 at the periapsis and v2 at the apoapsis; losses to gravity on the way up
    grow by a few metres per second with the burn, which is the longer the higher the orbit.
    """
    mu, low = ao.moon().gravitational_parameter, ao.moon().radius

    def impulses(high: float) -> float:
        leaving = sqrt(2.0 * mu * high / (low * (low + high)))
        arriving = sqrt(2.0 * mu * low / (high * (low + high)))
        return leaving + sqrt(mu / high) - arriving

    near, far = (to(ao.CircularOrbit(altitude=one)) for one in (3000 * km, altitude))
    dearer = impulses(low + altitude) - impulses(low + 3000 * km)
    by_hand = near.final_mass * exp(-dearer / (320.0 * STANDARD_GRAVITY))
    assert by_hand * (1.0 - 0.005) < far.final_mass < by_hand
    assert not far.certificate.beyond()

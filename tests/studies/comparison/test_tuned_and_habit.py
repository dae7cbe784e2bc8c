"""A tuned rule is no worse than its habit, which tuning may not have come by."""

from __future__ import annotations

import pytest

import ascentopt as ao
from ascentopt.units import deg, km, kN

FLINT = ao.Body(
    name="Flint",
    gravitational_parameter=1.4398e12,
    radius=656.14 * km,
    rotation_rate=-1.7407e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=1.1755,
        scale_height=4.3946 * km,
        ceiling=43.946 * km,
        surface_temperature=288.15,
    ),
)

LINNET = ao.Vehicle(
    name="Linnet",
    payload_mass=434.72,
    stages=(
        ao.Stage(
            name="a",
            propellant_mass=1847.63,
            dry_mass=234.763,
            engine=ao.Engine(vacuum_thrust=27.0635 * kN, vacuum_isp=292.726, sea_level_isp=263.453),
        ),
        ao.Stage(
            name="b",
            propellant_mass=93.9154,
            dry_mass=59.3915,
            engine=ao.Engine(vacuum_thrust=1.17269 * kN, vacuum_isp=307.726),
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=2.08828, drag_coefficient=0.3),
)
"""Its first stage has the speed of the orbit; what tuning finds first lies in another valley."""

MISSION = ao.Mission(
    body=FLINT,
    site=ao.LaunchSite(latitude=3.503 * deg),
    orbit=ao.EllipticalOrbit(
        periapsis_altitude=171.477 * km, apoapsis_altitude=1045.52 * km, inclination=13.5027 * deg
    ),
    limits=ao.FlightLimits(q_alpha=1000.0),
)


@pytest.mark.slow
def test_no_habit_that_keeps_the_limits_costs_less_than_its_rule_tuned() -> None:
    found = ao.compare(LINNET, MISSION)
    cost = {one.name: one.penalty for one in found.outcomes if one.penalty is not None}
    kept = [one for one in found.outcomes if one.penalty is not None and not one.broken]
    habits = [one for one in kept if not one.tuned]
    assert habits
    for one in habits:
        tuned = cost[one.name.replace("by habit", "tuned")]
        assert tuned <= (one.penalty or 0.0) + 1e-6

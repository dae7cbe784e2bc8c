"""A strong first stage on a small planet, which reaches the orbit alone."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.optimal.moves.empty_arcs import BRIEFEST
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN

WHEATEAR = ao.Vehicle(
    name="Wheatear",
    payload_mass=234.0,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=4809.0,
            dry_mass=416.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=206.6 * kN, vacuum_isp=306.3, sea_level_isp=275.7),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=1335.0,
            dry_mass=170.0,
            restarts=1,
            ignition_delay=1.6,
            engine=ao.Engine(vacuum_thrust=22.4 * kN, vacuum_isp=326.5),
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.55, drag_coefficient=0.4),
)
"""Lifts off with three times its weight; its first stage has what the orbit takes."""

COBBLE = ao.Body(
    name="Cobble",
    gravitational_parameter=9.3 * (721.57 * km) ** 2,
    radius=721.57 * km,
    rotation_rate=2e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=1.25, scale_height=5.33 * km, ceiling=63.94 * km
    ),
)

MISSION = ao.Mission(
    body=COBBLE,
    site=ao.LaunchSite(latitude=4.5 * deg, altitude=60.0),
    orbit=ao.CircularOrbit(altitude=83.66 * km),
)


def test_the_stage_below_inserts_where_the_last_would_burn_for_nothing() -> None:
    ascent = ao.optimize(WHEATEAR, MISSION)
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert str(ascent.plan) == "burn, coast, burn by stage 1"
    assert all(arc.times[-1] - arc.times[0] > BRIEFEST for arc in ascent.trajectory.arcs)

"""Throttles stay open where no limit asks for less, and the table flies what the plan says."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.units import deg, km, kN, kPa
from tests.optimal.launchers import earth_mission


def throttled(restarts: int = 1) -> ao.Vehicle:
    """An invented launcher both of whose engines can throttle."""
    return ao.Vehicle(
        name="Whimbrel",
        payload_mass=1100.0,
        stages=(
            ao.Stage(name="first", propellant_mass=62e3, dry_mass=4800.0,
                     engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0,
                                      sea_level_isp=282.0, min_throttle=0.5)),
            ao.Stage(name="second", propellant_mass=11.5e3, dry_mass=950.0, restarts=restarts,
                     engine=ao.Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0, min_throttle=0.4)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=4.5, drag_coefficient=0.35),
    )  # fmt: skip


def fly(vehicle: ao.Vehicle, altitude: float, **limits: float | None) -> ao.Ascent:
    mission = earth_mission(**{"q_alpha": 150 * kPa * deg} | limits)
    return ao.optimize(vehicle, replace(mission, orbit=ao.CircularOrbit(altitude=altitude)))


@pytest.fixture(scope="module")
def high() -> ao.Ascent:
    return fly(throttled(), 600 * km, dynamic_pressure=40 * kPa)


def test_a_coast_between_burns_that_could_be_throttled_is_flown_as_planned(high: ao.Ascent) -> None:
    assert high.plan.restarts == 1
    assert not high.certificate.beyond()


def test_upper_stages_burn_at_full_throttle_where_only_the_air_is_limited(high: ao.Ascent) -> None:
    upper = [s for s in high.steering.segments if s.arc.startswith("second")]
    assert len(upper) >= 2
    assert all(min(segment.throttle) > 1.0 - 1e-9 for segment in upper)

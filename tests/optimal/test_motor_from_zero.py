"""A first stage whose motor starts at zero thrust is solved like any other."""

from __future__ import annotations

import pytest

import ascentopt as ao
from ascentopt.units import deg, km, kPa
from tests.flight.rockets import zero_start

MISSION = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(latitude=-12 * deg),
    orbit=ao.CircularOrbit(altitude=300 * km),
    limits=ao.FlightLimits(dynamic_pressure=80 * kPa),
)


@pytest.mark.slow
def test_it_is_certified_and_a_newton_at_the_start_changes_nothing() -> None:
    from_zero, from_one = (ao.optimize(zero_start(first), MISSION) for first in (0.0, 1.0))
    for ascent in (from_zero, from_one):
        assert str(ascent.certificate).startswith("certificate: certified")
    assert from_zero.propellant_used == pytest.approx(from_one.propellant_used, abs=0.01)
    # What is burned on the pad counts as used.
    assert from_zero.propellant_used + from_zero.propellant_margin == pytest.approx(
        from_zero.vehicle.propellant_mass, rel=1e-9
    )

"""The fairing goes when the heating allows, in whichever arc that is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.units import deg, km
from tests.optimal.launchers import earth_mission
from tests.optimal.test_limits import vehicle


def launch(body: ao.Body, altitude: float, max_heating: float) -> ao.Ascent:
    fairing = ao.Fairing(mass=320.0, max_heating=max_heating)
    mission = replace(
        earth_mission(), body=body, limits=ao.FlightLimits(),
        orbit=ao.CircularOrbit(altitude=altitude, inclination=60 * deg),
    )  # fmt: skip
    return ao.optimize(replace(vehicle(), fairing=fairing), mission)


def heating_at_the_drop(ascent: ao.Ascent) -> float:
    trajectory = ascent.trajectory
    return float(np.interp(ascent.events["fairing drop"].time, trajectory.time, trajectory.heating))


def test_on_earth_it_goes_as_soon_as_the_heating_allows() -> None:
    ascent = launch(ao.earth(), 300 * km, 1135.0)
    assert heating_at_the_drop(ascent) == pytest.approx(1135.0, rel=1e-3)
    assert not ascent.certificate.beyond()


def test_in_thin_air_it_goes_with_the_first_stage_still_burning() -> None:
    """A guess that puts the drop into the second burn must not hold it there."""
    ascent = launch(ao.mars(), 250 * km, 1135.0)
    drop, separation = ascent.events["fairing drop"], ascent.events["first separation"]
    assert drop.time < separation.time - 1.0
    assert heating_at_the_drop(ascent) == pytest.approx(1135.0, rel=1e-3)
    assert any("fairing drop moved" in line for line in ascent.candidates[0].history)

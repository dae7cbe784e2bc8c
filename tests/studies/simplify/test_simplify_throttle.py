"""Simpler programmes of ascents that throttle, or that coast before a stage is lit."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.limit_check import PAYLOAD_HEATING
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.steering.programme import Programme
from ascentopt.studies.simplify.throttle_fit import throttle_programme
from ascentopt.typing import Floats
from ascentopt.units import deg, km, kN, kPa
from tests.optimal.structure.test_structures import high, no_restart

LIMITS = ao.FlightLimits(dynamic_pressure=35 * kPa, axial_acceleration=50.0)
DUNLIN = ao.Vehicle(
    name="Dunlin",
    payload_mass=700.0,
    stages=(
        ao.Stage(
            name="core",
            propellant_mass=30e3,
            dry_mass=2600.0,
            engine=ao.Engine(
                vacuum_thrust=640 * kN, vacuum_isp=318.0, sea_level_isp=287.0, min_throttle=0.5
            ),
        ),
        ao.Stage(
            name="top",
            propellant_mass=5200.0,
            dry_mass=520.0,
            engine=ao.Engine(vacuum_thrust=38 * kN, vacuum_isp=345.0),
            restarts=2,
        ),
    ),
    fairing=ao.Fairing(mass=150.0),
    aerodynamics=ao.Aerodynamics(reference_area=2.5, drag_coefficient=0.4),
)
MISSION = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(latitude=38 * deg, altitude=10.0),
    orbit=ao.CircularOrbit(altitude=450 * km, inclination=70 * deg),
    limits=LIMITS,
)


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(DUNLIN, MISSION)


@pytest.fixture(scope="module")
def programme(ascent: ao.Ascent) -> ao.SimplerProgramme:
    return ao.simplify(ascent, knots=4)


def test_it_throttles_and_keeps_both_limits(programme: ao.SimplerProgramme) -> None:
    track = programme.flight.trajectory
    # A programme drops its fairing when it first may, and may heat the payload later: it says so.
    assert {one.name for one in programme.broken} <= {PAYLOAD_HEATING}
    assert np.nanmax(track.dynamic_pressure) < 1.001 * 35 * kPa
    assert np.nanmax(track.axial_acceleration) < 50.0 * (1.0 + 1e-6)


def test_it_costs_little_and_gains_nothing(
    ascent: ao.Ascent, programme: ao.SimplerProgramme
) -> None:
    assert -1e-5 * ascent.propellant_used < programme.penalty < 2e-4 * ascent.propellant_used


def test_it_ends_in_the_orbit(programme: ao.SimplerProgramme) -> None:
    body = MISSION.body
    state = programme.flight.final_state
    radius = body.radius + 450 * km
    assert np.linalg.norm(state[:3]) == pytest.approx(radius, abs=0.2)
    speed = sqrt(body.gravitational_parameter / radius)
    assert np.linalg.norm(state[3:6]) == pytest.approx(speed, abs=2e-4)


def test_at_full_throttle_the_same_pitch_breaks_them(programme: ao.SimplerProgramme) -> None:
    assert isinstance(programme.law, Programme)
    full = replace(programme.law, throttling=None)
    core = next(a for a in ao.fly(DUNLIN, MISSION, full).trajectory.arcs if a.name == "core")
    track = replace(programme.flight.trajectory, arcs=(core,))
    assert np.nanmax(track.dynamic_pressure) > 1.05 * 35 * kPa
    assert np.nanmax(track.axial_acceleration) > 1.2 * 50.0


def test_the_throttle_is_printed_and_saved(programme: ao.SimplerProgramme, tmp_path: Path) -> None:
    text = str(programme)
    assert "throttled to keep within 50 m/s^2" in text
    assert programme.throttling is not None
    assert f"{min(programme.throttling.throttles):.3f}" in text
    programme.save(tmp_path / "programme.json")
    assert ao.SimplerProgramme.load(tmp_path / "programme.json").throttling == programme.throttling


def _strays(track: Trajectory, fitted: Floats) -> Floats:
    """(k,) how far a throttle lies outside of those of the samples within 2.5 s."""
    near = np.abs(track.time[:, None] - track.time) < 2.5
    low = np.where(near, track.throttle, np.inf).min(axis=1)
    high = np.where(near, track.throttle, -np.inf).max(axis=1)
    return np.asarray(np.maximum(low - fitted, fitted - high))


def test_the_fitted_throttle_follows_the_optimum(ascent: ao.Ascent) -> None:
    """Within a twentieth of what it does within 2.5 s, for it jumps, by either clock."""
    core = next(arc for arc in ascent.trajectory.arcs if arc.name == "core")
    track = replace(ascent.trajectory, arcs=(core,))
    free = track.axial_acceleration < 0.99 * 50.0
    for against, counted in (
        (ao.Against.TIME, track.time),
        (ao.Against.ALTITUDE, track.altitude),
    ):
        found = throttle_programme(ascent, against)
        assert found is not None
        assert found.acceleration == 50.0
        assert len(found.throttles) <= 6
        fitted = np.interp(counted, found.abscissae, found.throttles)
        assert np.median(np.abs(fitted - track.throttle)[free]) < 0.005
        assert _strays(track, fitted)[free].max() < 0.05


def test_nothing_to_throttle_is_full_thrust() -> None:
    assert isinstance(DUNLIN.stages[0].engine, ao.Engine)
    fixed = replace(DUNLIN.stages[0].engine, min_throttle=1.0)
    vehicle = replace(DUNLIN, stages=(replace(DUNLIN.stages[0], engine=fixed), DUNLIN.stages[1]))
    mission = replace(MISSION, limits=ao.FlightLimits())
    assert throttle_programme(ao.optimize(vehicle, mission), ao.Against.TIME) is None


def test_a_limit_that_is_broken_stands_beside_the_penalty(
    programme: ao.SimplerProgramme,
) -> None:
    excess = Excess(name="dynamic pressure", peak=36e3, limit=35e3, unit="Pa")
    first = str(replace(programme, broken=(excess,))).splitlines()[0]
    assert first.endswith("kg on the optimum, but it breaks 1 of its limits")
    whole = str(replace(programme, broken=())).splitlines()[0]
    assert whole.endswith("kg on the optimum")


def test_a_coast_before_a_stage_keeps_its_length() -> None:
    ascent = ao.optimize(no_restart(), high())
    assert ascent.plan.coast_before == (1,)
    found = ao.simplify(ascent, knots=4)
    coasts = [
        next(arc for arc in track.arcs if arc.name == "coast to second")
        for track in (ascent.trajectory, found.flight.trajectory)
    ]
    lengths = [float(arc.times[-1] - arc.times[0]) for arc in coasts]
    assert lengths[0] > 30.0
    assert lengths[1] == pytest.approx(lengths[0], abs=1e-6)
    assert 0.0 < found.penalty < 1e-3 * ascent.propellant_used
    radius = high().orbit.semi_major_axis_around(high().body)
    assert np.linalg.norm(found.flight.final_state[:3]) == pytest.approx(radius, abs=0.2)

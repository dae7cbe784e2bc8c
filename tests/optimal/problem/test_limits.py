"""Each limit of the mission holds along the independent flight, and costs mass."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.units import STANDARD_GRAVITY, deg, kN, kPa
from tests.optimal.launchers import earth_mission

BETWEEN_NODES = 1.015
"""Limits are kept to half a per cent of their scale between the nodes; squares and logarithms
turn that into up to 1.5 per cent of the limit."""


def vehicle(min_throttle: float = 1.0) -> ao.Vehicle:
    return ao.Vehicle(
        name="Godwit",
        payload_mass=1100.0,
        stages=(
            ao.Stage(name="first", propellant_mass=62e3, dry_mass=4800.0,
                     engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0,
                                      sea_level_isp=282.0, min_throttle=min_throttle)),
            ao.Stage(name="second", propellant_mass=11.5e3, dry_mass=950.0,
                     engine=ao.Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=4.5, drag_coefficient=0.35),
    )  # fmt: skip


def fly(min_throttle: float = 1.0, **limits: float | None) -> ao.Ascent:
    mission = replace(earth_mission(), limits=ao.FlightLimits(**{"q_alpha": None} | limits))
    return ao.optimize(vehicle(min_throttle), mission)


@pytest.fixture(scope="module")
def unlimited() -> ao.Ascent:
    return fly()


def test_dynamic_pressure(unlimited: ao.Ascent) -> None:
    limit = 40 * kPa
    assert unlimited.trajectory.dynamic_pressure.max() > limit
    limited = fly(dynamic_pressure=limit, q_alpha=150 * kPa * deg)
    assert limited.trajectory.dynamic_pressure.max() < BETWEEN_NODES * limit
    assert np.nanmax(limited.trajectory.q_alpha) < BETWEEN_NODES * 150 * kPa * deg
    assert limited.final_mass < unlimited.final_mass
    assert not limited.certificate.beyond()


def test_angle_of_attack_where_the_air_is_dense(unlimited: ao.Ascent) -> None:
    def steepest(ascent: ao.Ascent) -> float:
        dense = ascent.trajectory.dynamic_pressure > 1 * kPa
        return float(np.nanmax(ascent.trajectory.angle_of_attack[dense]))

    limited = fly(angle_of_attack=4 * deg)
    assert steepest(limited) < BETWEEN_NODES * 4 * deg < steepest(unlimited)
    assert limited.final_mass < unlimited.final_mass


def test_dynamic_pressure_at_staging(unlimited: ao.Ascent) -> None:
    limit = 0.5 * unlimited.events["first separation"].dynamic_pressure
    limited = fly(staging_dynamic_pressure=limit)
    assert limited.events["first separation"].dynamic_pressure < 1.001 * limit
    assert limited.final_mass < unlimited.final_mass


def test_axial_acceleration_is_met_by_throttling(unlimited: ao.Ascent) -> None:
    limit = 4 * STANDARD_GRAVITY
    assert np.nanmax(unlimited.trajectory.axial_acceleration) > limit
    limited = fly(min_throttle=0.5, axial_acceleration=limit)
    assert np.nanmax(limited.trajectory.axial_acceleration) < BETWEEN_NODES * limit


def test_pitch_rate(unlimited: ao.Ascent) -> None:
    limited = fly(pitch_rate=0.5 * deg)
    assert _fastest(limited) < 1.02 * 0.5 * deg < _fastest(unlimited)
    assert limited.final_mass < unlimited.final_mass


def _fastest(ascent: ao.Ascent) -> float:
    """Greatest turn of the thrust in inertial space between samples well apart, rad/s."""
    rates = [0.0]
    for arc in ascent.trajectory.arcs:
        times, steered = arc.times[::5], np.any(arc.directions)
        if steered and len(times) > 2:
            turn = np.linalg.norm(np.diff(arc.directions[::5], axis=0), axis=1)
            step = np.diff(times)
            rates.append(float((turn[step > 0.2] / step[step > 0.2]).max(initial=0.0)))
    return max(rates)

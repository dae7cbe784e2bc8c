"""Limits along an arc: the heating of the payload, the angle of attack and the force it brings."""

from __future__ import annotations

import re
from dataclasses import replace
from math import log, sqrt

import casadi as ca
import numpy as np
import pytest

from ascentopt.flight.dynamics.forces import Forces, Instant, forces
from ascentopt.flight.guidance.ending import AfterDuration, AtAltitude
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.limit_check import PAYLOAD_HEATING, broken_limits, peaks
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import FlightLimits
from ascentopt.optimal.problem.path_limits import (
    STILL_AIR,
    AngleOfAttack,
    PathLimit,
    PayloadHeating,
)
from ascentopt.rocket import Fairing
from ascentopt.units import deg, km
from ascentopt.world import Body, earth
from tests.flight.rockets import Leaning, mission, plain

BEARS = PayloadHeating(1135.0)
WITH_FAIRING = FlightPlan(inserting_stage=1, fairing_arc="upper")


def burn(body: Body) -> FlightArc:
    return sequence_of(plain(), mission(body), FlightPlan(inserting_stage=1)).arcs[-1]


def at(kind: ArcKind, arc: FlightArc, height: float, speed: float, angle: float) -> Forces:
    """Flying along y over the equator at rest in inertial space, pitched up by the angle."""
    direction = ca.DM([np.sin(angle), np.cos(angle), 0.0])
    spin = kind.body.rotation_rate
    radius = kind.body.radius + height
    return forces(
        kind,
        Instant(
            time=200.0,
            elapsed=10.0,
            position=ca.DM([radius, 0.0, 0.0]),
            velocity=ca.DM([0.0, speed + spin * radius, 0.0]),
            mass=5000.0,
            direction=direction,
            throttle=1.0,
            numbers=ca.DM(arc.numbers),
        ),
    )


def value(limit: PathLimit, height: float, speed: float, angle: float = 0.0) -> float:
    arc = burn(earth())
    return float(limit.value(at(arc.kind, arc, height, speed, angle)))


def test_the_heating_is_half_rho_v_cubed_whatever_the_limit() -> None:
    height, speed = 115 * km, 5000.0
    density = float(earth().atmosphere.density(height))  # type: ignore[union-attr]
    heating = 0.5 * density * speed**3
    assert value(BEARS, height, speed) == pytest.approx(log(1.0 + heating), rel=1e-9)
    low, most = BEARS.bounds(FlightLimits.none())
    assert low == -np.inf
    assert most == pytest.approx(log(1136.0))
    assert PayloadHeating(7.0) == BEARS, "another limit is another bound of the same equations"


def test_the_heating_is_tame_in_dense_air_and_finite_where_there_is_none() -> None:
    """A hundred scale heights too low are a hundred, not e to the hundred; far above it is zero."""
    heights = np.linspace(-1 * km, 3000 * km, 400)
    found = np.array([value(BEARS, height, 7800.0) for height in heights])
    assert np.all(np.isfinite(found))
    assert found.max() < 30.0
    assert found[-1] == pytest.approx(0.0, abs=1e-6)
    assert np.all(np.diff(found) <= 0.0)
    assert value(BEARS, 50 * km, 0.0) == pytest.approx(0.0, abs=1e-6)


def test_near_the_limit_the_heating_is_linear_in_the_altitude() -> None:
    """A step of a kilometre is foreseen by the slope to a few per cent: Newton's method follows."""
    low, here, high = (value(BEARS, h * km, 7800.0) for h in (136.0, 137.0, 138.0))
    slope = 0.5 * (high - low)
    assert abs(high - 2.0 * here + low) < 0.03 * abs(slope)


@pytest.mark.parametrize("angle", [1, 10, 30, 60, 90, 120, 170, 180])
def test_the_normal_force_grows_with_the_sine_of_the_angle_of_attack(angle: float) -> None:
    """Across the axis, against the cross flow, beyond 90 degrees as well."""
    arc = burn(earth())
    now = at(arc.kind, arc, 20 * km, 400.0, angle * deg)
    bare = replace(arc.parameters, normal_force_slope=0.0)
    drag = at(arc.kind, replace(arc, numbers=bare.numbers), 20 * km, 400.0, angle * deg)
    normal = np.array(now.aerodynamic - drag.aerodynamic, dtype=float).ravel()
    axis = np.array(now.direction, dtype=float).ravel()
    across = np.array([np.cos(angle * deg), -np.sin(angle * deg), 0.0])  # where the nose lifts
    size = 2.5 * 3.0 * float(now.dynamic_pressure)
    assert normal @ across == pytest.approx(size * np.sin(angle * deg), abs=1e-6 * size)
    assert normal @ axis == pytest.approx(0.0, abs=1e-9 * size)


def test_the_limit_on_the_angle_of_attack_fades_out_as_its_users_are_told() -> None:
    told = FlightLimits.__doc__ or ""
    assert f"(q / {STILL_AIR:.0f} Pa)^2" in told
    assert re.search(r"1\.26 times the limit at\s+200 Pa, twice at 100 Pa", told)
    height = 40 * km
    density = float(earth().atmosphere.density(height))  # type: ignore[union-attr]
    limit = FlightLimits(angle_of_attack=4 * deg)
    most = AngleOfAttack().bounds(limit)[1]
    for pressure, times in ((100.0, 2.126), (200.0, 1.2578), (400.0, 1.0093), (1000.0, 1.0)):
        speed = sqrt(2.0 * pressure / density)
        angle = times * 4 * deg
        assert value(AngleOfAttack(), height, speed, angle) == pytest.approx(most, rel=2e-3)


def flown(max_heating: float) -> Flight:
    """Dropped at the altitude of 90 km, and on at full thrust in air that is still thick."""
    endings = {"upper": AtAltitude(90 * km), "upper, bare": AfterDuration(60.0)}
    vehicle = replace(plain(), fairing=Fairing(mass=120.0, max_heating=max_heating))
    return fly(vehicle, mission(), Leaning(WITH_FAIRING, endings))


def test_a_flight_says_what_heats_its_payload_after_the_drop() -> None:
    flight = flown(1135.0)
    drop = flight.events["fairing drop"].time
    track = flight.trajectory
    heat = flight.payload_heating
    assert heat == pytest.approx(float(track.heating[track.time >= drop].max()), rel=1e-12)
    assert heat is not None
    assert heat > 2000.0
    (one,) = broken_limits(flight, FlightLimits.none(), 1135.0)
    assert str(one) == f"{PAYLOAD_HEATING} {heat:.4g} W/m2, limit 1135 W/m2"
    assert not list(broken_limits(flight, FlightLimits.none(), 2.0 * heat))
    assert not list(peaks(flight, FlightLimits.none()))


def test_without_a_drop_no_payload_is_heated() -> None:
    law = Leaning(FlightPlan(inserting_stage=1), {"upper": AfterDuration(20.0)})
    assert fly(replace(plain(), fairing=None), mission(), law).payload_heating is None

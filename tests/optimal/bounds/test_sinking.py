"""Vehicles whose thrust falls below their weight with the first stage still burning."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

import ascentopt as ao
from ascentopt.optimal.bounds.lift_off import check_lift_off, why_it_falls_back
from ascentopt.optimal.bounds.vertical_flight import sinking_straight_up
from ascentopt.units import km, kN
from tests.flight.rockets import mission

BURN = 20.0  # s


def lifted(core_thrust: float) -> ao.Vehicle:
    """A core that cannot lift itself, on boosters that burn for `BURN` s."""
    core = ao.Stage(
        name="core",
        propellant_mass=50e3,
        dry_mass=4e3,
        engine=ao.Engine(vacuum_thrust=core_thrust, vacuum_isp=400.0),
    )
    last = ao.Stage(
        name="last",
        propellant_mass=5e3,
        dry_mass=500.0,
        engine=ao.Engine(vacuum_thrust=60 * kN, vacuum_isp=340.0),
    )
    flow = 600 * kN / (280.0 * 9.80665)
    boosters = ao.BoosterGroup(
        name="push",
        count=2,
        propellant_mass=BURN * flow,
        dry_mass=400.0,
        engine=ao.Engine(vacuum_thrust=600 * kN, vacuum_isp=280.0),
    )
    return ao.Vehicle(name="Plover", payload_mass=500.0, stages=(core, last), boosters=(boosters,))


def airless() -> ao.Mission:
    """On a body that does not turn, with a gravity of 9 m/s^2 that hardly falls with height."""
    body = ao.Body(name="Slab", gravitational_parameter=9.0 * 1e8**2, radius=1e8, rotation_rate=0.0)
    return replace(mission(), body=body, orbit=ao.CircularOrbit(altitude=100 * km))


def test_the_time_to_the_ground_is_that_of_two_throws() -> None:
    """Two constant thrusts, masses by the rocket equation: heights by fine sums of our own."""
    vehicle, dt = lifted(300 * kN), 1e-3
    mass, height, speed, time = vehicle.lift_off_mass, 0.0, 0.0, 0.0
    exhaust, side = 400.0 * 9.80665, 280.0 * 9.80665
    while height >= 0.0:
        pushed = time < BURN
        thrust = 300 * kN + (1200 * kN if pushed else 0.0)
        flow = 300 * kN / exhaust + (1200 * kN / side if pushed else 0.0)
        if not pushed and time - dt < BURN:
            mass -= 2 * 400.0
        speed += (thrust / mass - 9.0) * dt
        height, mass, time = height + speed * dt, mass - flow * dt, time + dt
    found = sinking_straight_up(vehicle, airless(), relieved=False)
    assert found.time == pytest.approx(time, abs=0.2)
    assert sinking_straight_up(vehicle, airless(), relieved=True).time >= found.time


def test_the_weaker_the_core_the_more_is_missing() -> None:
    weak, weaker = (
        sinking_straight_up(lifted(t * kN), airless(), relieved=False) for t in (300, 250)
    )
    assert 0.0 < weak.missing < weaker.missing


def test_a_core_that_carries_itself_does_not_sink() -> None:
    assert sinking_straight_up(lifted(700 * kN), airless(), relieved=False).time == inf
    assert why_it_falls_back(lifted(700 * kN), airless()) is None


def test_it_is_refused_before_anything_is_solved() -> None:
    with pytest.raises(ao.InputError, match="back on the ground"):
        check_lift_off(lifted(200 * kN), airless())


def test_a_pit_is_not_the_ground() -> None:
    """Below a pad on a hill there is air to fall through."""
    hill = replace(airless(), site=replace(airless().site, altitude=3000.0))
    low, high = (
        sinking_straight_up(lifted(300 * kN), one, relieved=False) for one in (airless(), hill)
    )
    assert high.time > low.time

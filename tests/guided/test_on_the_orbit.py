"""Flights end on the orbit asked for, wherever along it, by short burns and by motors alike."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.guidance.leg import apoapsis_radius, periapsis_radius
from ascentopt.guided.guidance.targets import OrbitShape
from ascentopt.guided.outcomes import End
from ascentopt.units import deg, km
from tests.guided.flights import POSITION, VELOCITY, none, some

COST = 5e-4
"""Of the propellant: what guidance may cost beyond the optimum where nothing differs."""


def shape() -> OrbitShape:
    return OrbitShape(4.28e13, 3.6e6, 4.3e6)


def states_at(radii: np.ndarray, climbs: np.ndarray, speeds: np.ndarray) -> np.ndarray:
    zero = np.zeros_like(radii)
    return np.stack([radii, zero, zero, climbs, speeds, zero], axis=1)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_speeds_within_the_shape_are_in_the_orbit(way: float) -> None:
    own = shape()
    radii = np.linspace(own.low, own.high, 9)[1:-1]
    climb, speed = own.speeds(radii, way * np.ones_like(radii))
    assert np.all(np.sign(climb) == way)
    states = states_at(radii, climb, speed)
    assert periapsis_radius(own.mu, states) == pytest.approx(own.low, rel=1e-9)
    assert apoapsis_radius(own.mu, states) == pytest.approx(own.high, rel=1e-9)
    there = own.place(states)
    for found, one in zip(there, (radii, climb, speed), strict=True):
        assert found == pytest.approx(one, rel=1e-9)


def test_speeds_beside_the_shape_have_its_energy() -> None:
    own = shape()
    radii = np.array([own.low - 5 * km, own.high + 5 * km])
    climb, speed = own.speeds(radii, np.ones(2))
    assert climb.tolist() == [0.0, 0.0]
    assert 0.5 * speed**2 - own.mu / radii == pytest.approx(own.energy)


def on_mars(orbit: ao.EllipticalOrbit, name: str, payload: float) -> DispersedFlight:
    one = ao.scenarios()[name]
    vehicle = replace(one.vehicle, payload_mass=payload)
    return ready(vehicle, replace(one.mission, orbit=orbit))


@cache
def ready(vehicle: ao.Vehicle, mission: ao.Mission) -> DispersedFlight:
    ascent = ao.optimize(vehicle, mission)
    flight = DispersedFlight.of(ascent)
    found = flight.fly(none(flight))
    assert found.end.tolist() == [End.IN_ORBIT]
    assert found.misses.position[0] < POSITION
    assert found.misses.velocity[0] < VELOCITY
    assert abs(ascent.propellant_margin - found.margin[0]) < COST * ascent.propellant_used
    return flight


ELLIPSES = {
    "3 s after 90 minutes": (
        ao.EllipticalOrbit(
            periapsis_altitude=250 * km, apoapsis_altitude=4000 * km, inclination=40 * deg
        ),
        "mars-two-stages", 200.0,
    ),
    "lit on the way down": (
        ao.EllipticalOrbit(periapsis_altitude=180 * km, apoapsis_altitude=900 * km),
        "mars-one-stage", 300.0,
    ),
    "lit far from the apsides": (
        ao.EllipticalOrbit(
            periapsis_altitude=250 * km, apoapsis_altitude=2000 * km, inclination=50 * deg,
            argument_of_periapsis=60 * deg,
        ),
        "mars-two-stages", 200.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", ELLIPSES)
def test_into_ellipses_it_costs_next_to_nothing_and_misses_nothing(case: str) -> None:
    flight = on_mars(*ELLIPSES[case])
    found = flight.fly(some(flight, 20, seed=5))
    assert found.end.tolist() == [End.IN_ORBIT] * 20
    assert np.all(found.misses.position < POSITION)
    assert np.all(found.misses.velocity < VELOCITY)


def with_a_motor_last() -> ao.Vehicle:
    motor = ao.SolidMotor(
        time=(0.0, 5.0, 30.0, 40.0), vacuum_thrust=(35e3, 42e3, 44e3, 20e3), vacuum_isp=288.0
    )
    lower = ao.Engine(vacuum_thrust=360e3, vacuum_isp=300.0)
    upper = ao.Engine(vacuum_thrust=55e3, vacuum_isp=330.0)
    return ao.Vehicle(
        name="Dunlin",
        payload_mass=150.0,
        stages=(
            ao.Stage(name="one", propellant_mass=15e3, dry_mass=1.4e3, engine=lower),
            ao.Stage(name="two", propellant_mass=3.2e3, dry_mass=330.0, engine=upper),
            ao.Stage(name="kick", propellant_mass=620.0, dry_mass=70.0,
                     engine=motor.scaled_to(620.0)),
        ),
        fairing=ao.Fairing(mass=60.0),
        aerodynamics=ao.Aerodynamics(reference_area=1.8, drag_coefficient=0.4),
    )  # fmt: skip


def test_a_motor_that_burns_to_its_end_ends_in_the_orbit_as_planned() -> None:
    """What it leaves is what the stage below was cut off with."""
    ready(with_a_motor_last(), ao.scenarios()["earth-small"].mission)


def test_a_motor_that_is_off_leaves_its_speed_off_and_little_else() -> None:
    """Half a per cent of thrust alone ends it earlier or later, with the same speed."""
    flight = ready(with_a_motor_last(), ao.scenarios()["earth-small"].mission)
    thrust = np.ones((2, 3))
    thrust[:, 2] = 0.995, 1.005
    found = flight.fly(replace(none(flight, 2), thrust=thrust))
    assert np.all(np.abs(found.misses.radius) < POSITION)
    assert np.all(np.abs(found.misses.climb) < 1.0)
    assert np.all(np.abs(found.misses.speed) < 10.0)

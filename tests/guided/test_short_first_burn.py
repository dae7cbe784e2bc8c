"""A burn of seconds on the way to an apoapsis mends that, and nothing it cannot reach."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

import ascentopt as ao
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.outcomes import End, Outcomes
from tests.guided.flights import POSITION, VELOCITY, none

RADIUS = 2.9e6
UPPER = 2
"""The arc of the first burn of the upper stage: 11 s as planned, at 13 degrees above the level."""


@cache
def flight() -> DispersedFlight:
    """The strong lower stage of two leaves the upper one little to do before its coast."""
    air = ao.Atmosphere.exponential(
        surface_density=2.3, scale_height=9500.0, ceiling=120e3, gas_constant=190.0,
        heat_capacity_ratio=1.3,
    )  # fmt: skip
    body = ao.Body(
        name="Brindle", gravitational_parameter=5.1 * RADIUS**2, radius=RADIUS,
        rotation_rate=1.1e-4, atmosphere=air,
    )  # fmt: skip
    lower = ao.Engine(vacuum_thrust=390e3, vacuum_isp=309.0)
    upper = ao.Engine(vacuum_thrust=42e3, vacuum_isp=335.0)
    vehicle = ao.Vehicle(
        name="Siskin",
        payload_mass=1500.0,
        stages=(
            ao.Stage(name="one", propellant_mass=26e3, dry_mass=2.4e3, engine=lower),
            ao.Stage(name="two", propellant_mass=6.2e3, dry_mass=700.0, engine=upper, restarts=1),
        ),
        fairing=ao.Fairing(mass=200.0),
        aerodynamics=ao.Aerodynamics(reference_area=4.0, drag_coefficient=0.45),
    )
    site = ao.LaunchSite(latitude=np.radians(-35.0))
    mission = ao.Mission(body=body, site=site, orbit=ao.CircularOrbit(altitude=210e3))
    return DispersedFlight.of(ao.optimize(vehicle, mission))


def through(drag: np.ndarray) -> Outcomes:
    """Flights with factors on the drag."""
    return flight().fly(replace(none(flight(), len(drag)), drag=drag))


def test_the_planned_first_burn_is_short_and_ballistic() -> None:
    prepared = flight().prepared
    assert prepared.arcs[UPPER].length < 15.0
    assert not prepared.legs[0].target.is_place


def test_no_drag_keeps_it_from_the_orbit() -> None:
    found = through(1.0 + np.linspace(-0.1, 0.1, 21))
    assert np.all(found.end == End.IN_ORBIT)
    assert np.all(found.misses.position < POSITION)
    assert np.all(found.misses.velocity < VELOCITY)


def test_what_is_left_falls_smoothly_with_the_drag() -> None:
    """By 670 kg for the whole of it, and nowhere by a step of its own."""
    drag = 1.0 + np.linspace(-0.1, 0.1, 21)
    left = through(drag).margin
    assert np.all(np.diff(left) < 0.0)
    straight = np.polyval(np.polyfit(drag, left, 1), drag)
    assert np.abs(left - straight).max() < 0.01 * np.ptp(left)


def test_a_burn_that_begins_beyond_its_apoapsis_is_over_at_once() -> None:
    found = through(np.array([0.8, 0.7]))
    lit, ended = found.arc_ends[:, UPPER - 1], found.arc_ends[:, UPPER]
    since = flight().prepared.legs[0].since
    assert np.all(ended - lit <= since + 1e-6)
    assert np.all(found.end == End.IN_ORBIT)
    assert np.all(found.margin > through(np.array([0.9])).margin)

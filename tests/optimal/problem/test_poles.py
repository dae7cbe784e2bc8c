"""Ascents from and over a pole, where east and north turn about and all headings are alike."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.dynamics.local_frame import SPIN
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.problem.target.aim import launch_plane
from ascentopt.optimal.problem.target.plane import flown_plane
from ascentopt.optimal.problem.target.terminal import insertion_condition
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.result.lift_off_instant import with_awaited_angles_free
from ascentopt.optimal.warm_start.parking_orbit import has_two_headings, mission_to_parking_circle
from ascentopt.units import deg, km
from tests.launchers import TURNSTONE
from tests.optimal.launchers import small_launcher
from tests.optimal.problem.test_insertion import point, rows, state_on

BESIDE = (90.0, -90.0, 89.9, -89.99, 89.9999)
STEEP = (None, 90.0, 98.0, 82.0)


@cache
def over(latitude: float, inclination: float | None) -> ao.Ascent:
    """Of a small launcher, from so many degrees of latitude to a circle of so many."""
    site = ao.LaunchSite(latitude=latitude * deg)
    angle = None if inclination is None else inclination * deg
    orbit = ao.CircularOrbit(altitude=400 * km, inclination=angle)
    return ao.optimize(small_launcher(), ao.Mission(body=ao.earth(), site=site, orbit=orbit))


@pytest.mark.parametrize("latitude", [90.0, -90.0])
def test_a_burn_over_a_pole_is_flown_as_it_was_planned(latitude: float) -> None:
    ascent = over(latitude, None)
    assert not ascent.certificate.beyond(), ascent.certificate
    assert ascent.steering.axis != SPIN
    # Every thrust lies in the plane of the path or nearly: across it there is nothing to gain.
    for segment in ascent.steering.segments:
        components = np.array([segment.up, segment.east, segment.north])
        assert np.abs(components[2]).max(initial=0.0) < 0.2


def test_beside_a_pole_a_polar_orbit_is_reached_by_the_heading_away_from_it() -> None:
    ascent = over(85.0, 90.0)
    assert not ascent.certificate.beyond(), ascent.certificate
    assert ascent.plan.southward


def test_either_pole_is_as_good() -> None:
    """What is left depends on the site's speed alone, and that is nothing at both."""
    north, south = over(90.0, None), over(-90.0, None)
    assert north.final_mass == pytest.approx(south.final_mass, rel=1e-6)


def test_elsewhere_east_is_about_the_spin_axis() -> None:
    ascent = over(60.0, None)
    assert ascent.steering.axis == SPIN
    heading = ascent.steering.segments[1].heading
    assert 0.25 * pi < heading[-1] < 0.75 * pi


def to_a_circle(
    latitude: float, inclination: float | None, node: float | None = None
) -> ao.Mission:
    """At 400 km, angles in degrees."""
    orbit = ao.CircularOrbit(
        altitude=400 * km,
        inclination=None if inclination is None else inclination * deg,
        ascending_node=None if node is None else node * deg,
    )
    site = ao.LaunchSite(latitude=latitude * deg, longitude=25 * deg)
    return ao.Mission(body=ao.earth(), site=site, orbit=orbit)


def slope_of_a_turn(mission: ao.Mission) -> float:
    """Of the conditions on the orbit, when a state in its plane is turned about the spin axis."""
    inclination, node = flown_plane(mission).inclination, flown_plane(mission).node
    tilt = 0.5 * pi if inclination is None else inclination
    orbit = replace(mission.orbit, inclination=tilt, ascending_node=node)
    state = state_on(replace(mission, orbit=orbit), 0.4, np.random.default_rng(0))
    spin = [np.cross([0.0, 0.0, 1.0], part) for part in (state[:3], state[3:])]
    scaled = point(mission, np.concatenate(spin))
    _, slope = rows(insertion_condition(mission), 0)
    return float(np.linalg.norm(slope(point(mission, state)).full() @ scaled))


@pytest.mark.parametrize("latitude", BESIDE)
@pytest.mark.parametrize("inclination", STEEP)
def test_beside_a_pole_no_turn_about_the_spin_axis_is_free(
    latitude: float, inclination: float | None
) -> None:
    """Such a turn leaves a flight from a pole as good as it was: where nothing holds it, it is a
    direction in which the solver is led by rounding."""
    assert slope_of_a_turn(to_a_circle(latitude, inclination)) > 0.3


@pytest.mark.parametrize("latitude", [89.5, 60.0])
def test_elsewhere_the_node_is_as_free_as_it_was(latitude: float) -> None:
    """The site holds it."""
    for inclination in STEEP:
        assert flown_plane(to_a_circle(latitude, inclination)).node is None
    assert slope_of_a_turn(to_a_circle(latitude, 98.0)) < 1e-9


def test_a_node_that_is_given_is_flown_to_beside_a_pole_too() -> None:
    fixed = replace(to_a_circle(89.99, 98.0, 40.0), lift_off_time=0.0)
    assert flown_plane(fixed).node == 40 * deg
    waiting = with_awaited_angles_free(to_a_circle(89.99, 98.0, 40.0))
    assert flown_plane(waiting).node == pytest.approx(0.5 * pi)


@pytest.mark.parametrize("latitude", BESIDE)
@pytest.mark.parametrize("inclination", STEEP)
def test_flights_from_beside_a_pole_head_east_or_west_as_costs_less(
    latitude: float, inclination: float | None
) -> None:
    """East the site pushes along, west it lies nearer to a plane that leans to the west."""
    mission = to_a_circle(latitude, inclination)
    sequence = sequence_of(small_launcher(), mission, direct(small_launcher()))
    place = np.array(sequence.position) / np.linalg.norm(sequence.position)
    normal = launch_plane(sequence, mission)
    assert np.linalg.norm(normal) == pytest.approx(1.0)
    assert normal @ place == pytest.approx(0.0, abs=1e-12)
    meridian = np.array([np.cos(25 * deg), np.sin(25 * deg), 0.0])
    east = np.array([-meridian[1], meridian[0], 0.0])
    ahead = np.cross(normal, place)
    assert ahead @ east == pytest.approx(-1.0 if inclination == 98.0 else 1.0, abs=1e-6)


@pytest.mark.parametrize("latitude", BESIDE)
def test_beside_a_pole_the_parking_circle_lies_by_the_orbit(latitude: float) -> None:
    """A heading of its own would leave twice the angle to turn."""
    mission = to_a_circle(latitude, 98.0)
    circle = mission_to_parking_circle(mission, None, 2)
    assert circle is not None
    assert flown_plane(circle).node == flown_plane(mission).node


@pytest.mark.parametrize("latitude", BESIDE)
def test_beside_a_pole_there_is_no_other_heading(latitude: float) -> None:
    assert not has_two_headings(to_a_circle(latitude, 90.0))
    assert has_two_headings(to_a_circle(80.0 if latitude > 0.0 else -80.0, 90.0))


def test_the_plane_is_turned_from_a_pole_as_from_beside_it() -> None:
    """Ten metres from the pole, and at the other one; plans of three burns could not lead these
    flights, which missed the orbit by 40 m."""
    light = replace(TURNSTONE, payload_mass=300.0)
    found = [ao.optimize(light, to_a_circle(latitude, 98.0)) for latitude in (-90.0, 89.9999)]
    assert [one.certificate.verdict for one in found] == [Verdict.CERTIFIED] * 2
    assert found[0].propellant_used == pytest.approx(found[1].propellant_used, rel=1e-6)

"""Flights that must be images of each other."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import Mission
from ascentopt.units import deg
from ascentopt.world import earth
from tests.flight.rockets import Leaning, boosted, mission

# What the integrator makes of the knots of drag and air differs from image to image.
METRES, METRES_A_SECOND = 5e-3, 3e-5
PLAN = FlightPlan(inserting_stage=1)


def flown(where: Mission, heading: float) -> Flight:
    return fly(boosted(), where, Leaning(PLAN, {"upper": AfterDuration(100.0)}, heading=heading))


@pytest.mark.parametrize("heading", [30.0, 90.0, 200.0])
def test_north_and_south_are_mirror_images(heading: float) -> None:
    north = flown(mission(latitude=35 * deg), heading * deg)
    south = flown(mission(latitude=-35 * deg), pi - heading * deg)
    mirror = np.array([1.0, 1.0, -1.0, 1.0, 1.0, -1.0, 1.0])
    miss = south.final_state - mirror * north.final_state
    assert np.abs(miss[:3]).max() < METRES
    assert np.abs(miss[3:]).max() < METRES_A_SECOND
    assert south.budget.drag == pytest.approx(north.budget.drag, abs=1e-4)


def test_a_body_that_spins_the_other_way_is_an_image_too() -> None:
    east = flown(mission(latitude=20 * deg), 70 * deg)
    body = replace(earth(), rotation_rate=-earth().rotation_rate)
    there = mission(body, latitude=20 * deg)
    west = flown(replace(there, site=replace(there.site, longitude=-0.3)), -70 * deg)
    mirror = np.array([1.0, -1.0, 1.0, 1.0, -1.0, 1.0, 1.0])
    miss = west.final_state - mirror * east.final_state
    assert np.abs(miss[:3]).max() < METRES
    assert np.abs(miss[3:]).max() < METRES_A_SECOND


def test_the_longitude_of_the_site_only_turns_the_flight() -> None:
    here = mission(latitude=20 * deg)
    one = flown(here, 70 * deg).final_state
    two = flown(replace(here, site=replace(here.site, longitude=1.3)), 70 * deg).final_state
    c, s = np.cos(1.0), np.sin(1.0)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    assert two[:3] == pytest.approx(turn @ one[:3], abs=METRES)
    assert two[3:6] == pytest.approx(turn @ one[3:6], abs=METRES_A_SECOND)
    assert two[6] == pytest.approx(one[6], abs=1e-9)

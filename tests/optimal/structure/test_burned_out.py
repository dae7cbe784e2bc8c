"""Orbits that are too high for burns without a coast, and the bound that says so."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.optimal.structure.burned_out import (
    Gains,
    burned_out_below,
    gains_of,
    greatest_radius,
)
from ascentopt.units import km
from tests.launchers import PELICAN_POINT, TURNSTONE

MU, GROUND = ao.earth().gravitational_parameter, ao.earth().radius


def thrown(speed: float) -> Gains:
    """All the speed (m/s) at once."""
    return Gains(speed, ())


@given(st.floats(1.01, 50.0))
def test_at_the_speed_of_escape_it_is_the_parabola_s_radius(share: float) -> None:
    """t = 2/3 (r^1.5 - R^1.5) / sqrt(2 mu): v = sqrt(2 mu / r), integrated."""
    radius = share * GROUND
    time = 2.0 / 3.0 * (radius**1.5 - GROUND**1.5) / sqrt(2.0 * MU)
    found = greatest_radius(MU, GROUND, thrown(sqrt(2.0 * MU / GROUND)), time)
    assert found == pytest.approx(radius, rel=1e-7)


@given(st.floats(1.05, 20.0))
def test_before_it_turns_it_is_on_the_ellipse(share: float) -> None:
    """Half way to the apoapsis of a radial ellipse of axis a = ra / 2, by Kepler's equation."""
    top = share * GROUND
    axis, middle = 0.5 * top, 0.5 * (GROUND + top)
    began, ends = (np.arccos(1.0 - r / axis) for r in (GROUND, middle))
    time = sqrt(axis**3 / MU) * (ends - np.sin(ends) - began + np.sin(began))
    speed = sqrt(2.0 * MU * (1.0 / GROUND - 1.0 / top))
    assert greatest_radius(MU, GROUND, thrown(speed), time) == pytest.approx(middle, rel=1e-6)


@given(st.floats(5.0, 60.0), st.floats(10.0, 600.0))
def test_speed_that_comes_in_time_reaches_less_than_speed_at_once(rate: float, time: float) -> None:
    slowly = greatest_radius(MU, GROUND, Gains(400.0, ((rate, time),)), time)
    assert slowly < greatest_radius(MU, GROUND, thrown(400.0 + rate * time), time)
    assert slowly > greatest_radius(MU, GROUND, thrown(400.0), time)


@given(st.floats(1.0, 3.0))
def test_a_flight_is_followed_to_a_radius_that_is_enough_or_to_its_end(share: float) -> None:
    gains, time, radius = Gains(400.0, ((15.0, 600.0),)), 600.0, share * GROUND
    whole = greatest_radius(MU, GROUND, gains, time)
    found = greatest_radius(MU, GROUND, gains, time, enough=radius)
    assert found == whole if whole < radius else radius <= found <= whole


def test_burns_from_the_pad_on_reach_low_orbits_alone() -> None:
    high = replace(PELICAN_POINT, orbit=ao.CircularOrbit(altitude=35786 * km))
    assert burned_out_below(TURNSTONE, PELICAN_POINT) is None
    told = burned_out_below(TURNSTONE, high)
    assert told is not None
    assert "when it has burned all" in told


@pytest.mark.slow
def test_no_flight_is_sooner_at_its_height_than_what_is_thrown_up() -> None:
    """Of a real ascent, from 1 km on, while it burns."""
    flown = ao.optimize(TURNSTONE, PELICAN_POINT).trajectory
    bare = replace(TURNSTONE, fairing=None)
    gains = gains_of(bare, ao.earth().rotation_rate * GROUND)
    radii = np.linalg.norm(flown.states[:, :3], axis=1)
    ground = radii[0]
    for time, radius in zip(flown.time[::10], radii[::10], strict=True):
        if time > 1.0:
            assert radius < greatest_radius(MU, ground, gains, float(time))


def test_by_the_end_of_all_burns_all_the_ideal_speed_is_gained() -> None:
    bare = replace(TURNSTONE, fairing=None)
    assert gains_of(bare, 0.0).by(1e6) == pytest.approx(bare.ideal_delta_v, rel=1e-9)
    assert gains_of(bare, 0.0).by(30.0) < 0.2 * bare.ideal_delta_v


def test_a_core_that_throttles_beside_its_boosters_may_gain_more_than_at_full_thrust() -> None:
    """Its propellant is worth more when they are gone: the bound counts it so."""
    beside = ao.BoosterGroup(
        name="strap-ons", count=2, propellant_mass=20000.0, dry_mass=2000.0,
        engine=ao.Engine(vacuum_thrust=400e3, vacuum_isp=280.0),
    )  # fmt: skip
    core = TURNSTONE.stages[0]
    assert isinstance(core.engine, ao.Engine)
    eased = replace(core, engine=replace(core.engine, min_throttle=0.5))
    whole = replace(TURNSTONE, fairing=None, boosters=(beside,))
    throttled = replace(whole, stages=(eased, *whole.stages[1:]))
    assert gains_of(throttled, 0.0).by(1e6) > 1.02 * whole.ideal_delta_v

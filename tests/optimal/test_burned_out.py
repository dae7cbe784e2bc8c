"""Orbits that are too high for burns without a coast, and the bound that says so."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.optimal.structure.burned_out import burned_out_below, least_climb
from ascentopt.units import km
from examples.first_ascent import PELICAN_POINT, TURNSTONE

MU, GROUND = ao.earth().gravitational_parameter, ao.earth().radius


@given(st.floats(1.01, 50.0))
def test_at_the_speed_of_escape_it_is_the_parabola_s_time(share: float) -> None:
    """t = 2/3 (r^1.5 - R^1.5) / sqrt(2 mu): v = sqrt(2 mu / r), integrated."""
    radius = share * GROUND
    time = 2.0 / 3.0 * (radius**1.5 - GROUND**1.5) / sqrt(2.0 * MU)
    assert least_climb(MU, GROUND, radius, sqrt(2.0 * MU / GROUND)) == pytest.approx(time, rel=1e-8)


@given(st.floats(1.05, 20.0))
def test_nearly_to_the_top_it_is_nearly_the_ellipse_s_time(share: float) -> None:
    """From r1 to the apoapsis of a radial ellipse of axis a = ra / 2, by Kepler's equation."""
    top = share * GROUND
    axis = 0.5 * top
    anomaly = np.arccos(1.0 - GROUND / axis)
    time = sqrt(axis**3 / MU) * (pi - (anomaly - np.sin(anomaly)))
    speed = sqrt(2.0 * MU * (1.0 / GROUND - 1.0 / top))
    below = least_climb(MU, GROUND, top * (1.0 - 1e-12), speed * (1.0 + 1e-13))
    assert below == pytest.approx(time, rel=1e-3)
    assert least_climb(MU, GROUND, 1.001 * top, speed) == inf


def test_burns_from_the_pad_on_reach_low_orbits_alone() -> None:
    high = replace(PELICAN_POINT, orbit=ao.CircularOrbit(altitude=35786 * km))
    assert burned_out_below(TURNSTONE, PELICAN_POINT) is None
    told = burned_out_below(TURNSTONE, high)
    assert told is not None
    assert "burns for" in told


def test_no_flight_is_sooner_at_its_height_than_what_is_thrown_up() -> None:
    """Of a real ascent, from 1 km on, while it burns."""
    flown = ao.optimize(TURNSTONE, PELICAN_POINT).trajectory
    speed = TURNSTONE.ideal_delta_v + ao.earth().rotation_rate * GROUND
    radii = np.linalg.norm(flown.states[:, :3], axis=1)
    ground = radii[0]
    for time, radius in zip(flown.time[::10], radii[::10], strict=True):
        if radius > ground + 1 * km:
            assert time > least_climb(MU, ground, float(radius), speed)

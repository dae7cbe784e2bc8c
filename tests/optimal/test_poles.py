"""Ascents over a pole, where east and north turn about and are no frame to steer by."""

from __future__ import annotations

from functools import cache
from math import pi

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.dynamics.local_frame import SPIN
from ascentopt.units import deg, km
from tests.optimal.launchers import small_launcher


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

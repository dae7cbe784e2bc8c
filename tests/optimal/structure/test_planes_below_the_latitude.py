"""Inclinations below the latitude: from a parking orbit, after a coast to where the planes meet."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.three_stages import (
    inclination,
    launch_to,
    orbit_at,
    spoonbill,
    with_restarts,
)

LOW = ao.CircularOrbit(altitude=600 * km, inclination=5 * deg)


@cache
def flown(latitude: float, restarts: int) -> ao.Ascent:
    """To 600 km and 5 deg from so many degrees of latitude."""
    return ao.optimize(spoonbill(restarts, payload=2000.0), launch_to(LOW, latitude * deg))


@pytest.mark.slow
def test_a_low_plane_is_reached_from_a_parking_orbit() -> None:
    ascent = flown(28.5, 2)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert inclination(ascent) == pytest.approx(5.0, abs=1e-4)
    assert orbit_at(ascent, -1).semi_major_axis == pytest.approx(6978137.0, rel=1e-7)
    assert ascent.propellant_margin > 5000.0


def test_the_plane_is_turned_after_a_coast() -> None:
    """A first burn that ends north of the equator lies in a plane that holds its place there."""
    ascent = flown(28.5, 2)
    arcs = ascent.trajectory.arcs
    parked = next(k for k, arc in enumerate(arcs) if arc.name.startswith("coast"))
    assert orbit_at(ascent, parked).inclination / deg > 15.0
    assert arcs[parked].times[-1] - arcs[parked].times[0] > 100.0


@pytest.mark.slow
def test_the_other_hemisphere_costs_the_same() -> None:
    north, south = flown(28.5, 2), flown(-28.5, 2)
    assert north.propellant_used == pytest.approx(south.propellant_used, rel=1e-6)


@pytest.mark.slow
def test_a_last_stage_that_is_lit_once_may_wait_for_the_node_before() -> None:
    """It costs more than two burns beyond a parking orbit, and is no error."""
    once = flown(28.5, 0)
    assert once.certificate.verdict is Verdict.CERTIFIED
    assert inclination(once) == pytest.approx(5.0, abs=1e-4)
    assert once.plan.coast_before == (2,)
    assert once.propellant_used > flown(28.5, 2).propellant_used


def equatorial_from_the_moon() -> ao.Mission:
    orbit = ao.CircularOrbit(altitude=100 * km, inclination=2 * deg)
    return replace(moon_mission(latitude=10 * deg), orbit=orbit)


def test_one_stage_that_is_lit_once_cannot_and_is_told_so() -> None:
    once = with_restarts(lander(), 0)
    with pytest.raises(ao.InputError, match=r"inclination.*latitude"):
        ao.optimize(once, equatorial_from_the_moon())


def test_one_stage_that_is_lit_again_turns_its_plane_at_the_node() -> None:
    ascent = ao.optimize(lander(), equatorial_from_the_moon())
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert inclination(ascent) == pytest.approx(2.0, abs=1e-4)

"""Orbits over the equator, which have no node, and sites on it."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.mission.orbit import LEVEL
from ascentopt.optimal.problem.target.plane import TILT, flown_plane
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.warm_start.parking_orbit import has_two_headings
from ascentopt.units import deg, km
from tests.launchers import TURNSTONE
from tests.optimal.problem.test_insertion import INDEPENDENT, least_singular_value, state_on


def to(latitude: float, inclination: float | None, argument: float | None = None) -> ao.Mission:
    """An ellipse, inclination in rad, the other angles in degrees."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=250 * km,
        apoapsis_altitude=900 * km,
        inclination=inclination,
        argument_of_periapsis=None if argument is None else argument * deg,
    )
    return ao.Mission(body=ao.earth(), site=ao.LaunchSite(latitude=latitude * deg), orbit=orbit)


def in_the_plane_of(mission: ao.Mission) -> np.ndarray:
    """(6,) a state on the orbit, in the plane that is flown."""
    orbit = replace(mission.orbit, inclination=flown_plane(mission).inclination)
    return state_on(replace(mission, orbit=orbit), 0.4, np.random.default_rng(0))


@pytest.mark.parametrize("argument", [None, 60.0])
@pytest.mark.parametrize("inclination", [0.0, 1e-12, 1e-9, 5e-7, pi, pi * (1.0 - 1e-10)])
def test_conditions_are_independent_on_what_is_equatorial_to_all_purposes(
    inclination: float, argument: float | None
) -> None:
    """The inclination has no slope over the equator, and no way there but by rounding."""
    mission = to(0.0, inclination, argument)
    state = in_the_plane_of(mission)
    assert least_singular_value(mission, state) > INDEPENDENT


def test_an_inclination_that_can_be_told_from_the_equators_is_kept() -> None:
    for inclination in (2.0 * LEVEL, pi - 2.0 * LEVEL):
        assert flown_plane(to(0.0, inclination)).inclination == inclination


@pytest.mark.parametrize("latitude", [0.0, 1e-9, -0.05])
def test_over_the_equator_a_free_plane_is_tilted_where_the_periapsis_counts_from_its_node(
    latitude: float,
) -> None:
    """Its node was in all directions, and the slope of the argument not a number."""
    mission = to(latitude, None, 60.0)
    assert flown_plane(mission).inclination == TILT
    assert least_singular_value(mission, in_the_plane_of(mission)) > INDEPENDENT


def test_elsewhere_and_where_nothing_counts_from_it_a_free_plane_is_free() -> None:
    assert flown_plane(to(0.1, None, 60.0)).inclination is None
    assert flown_plane(to(0.0, None)).inclination is None


def test_a_body_that_turns_the_other_way_has_its_planes_tilted_the_other_way() -> None:
    mission = to(0.0, None, 60.0)
    back = replace(mission.body, rotation_rate=-mission.body.rotation_rate)
    assert flown_plane(replace(mission, body=back)).inclination == pi - TILT


def test_an_equatorial_plane_through_the_pad_has_one_heading() -> None:
    assert not has_two_headings(to(0.0, 0.0))
    assert not has_two_headings(to(1e-9, 1e-9))
    assert has_two_headings(to(0.0, 45 * deg))


@pytest.mark.slow
def test_an_orbit_a_part_in_a_billion_from_equatorial_is_reached_like_the_equatorial_one() -> None:
    """It was refused after a minute, short by 0.017 m/s or by nobody knew how much."""
    light, found = replace(TURNSTONE, payload_mass=300.0), []
    for inclination in (0.0, 1e-9):
        mission = to(0.0, inclination)
        circle = ao.CircularOrbit(altitude=400 * km, inclination=inclination)
        found.append(ao.optimize(light, replace(mission, orbit=circle)))
    assert [one.certificate.verdict for one in found] == [Verdict.CERTIFIED] * 2
    assert found[0].propellant_used == pytest.approx(found[1].propellant_used, rel=1e-9)

"""When the site lies in the plane of the orbit, by closed forms and by the site's own path."""

from __future__ import annotations

from dataclasses import replace
from math import asin, cos, pi, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.flight.phases.builder import lift_off
from ascentopt.mission import CircularOrbit, LaunchSite, Mission, plane_passes
from ascentopt.mission.lift_off import (
    angle_that_waiting_saves,
    day,
    lift_off_text,
    out_of_plane,
    time_to_turn,
    waits_for_its_orbit,
)
from ascentopt.units import deg, km
from ascentopt.world import Body, earth, geocentric_latitude, mars, moon
from ascentopt.world.orbital_elements import elements

BALL = Body(name="ball", gravitational_parameter=4e14, radius=6.4e6, rotation_rate=7e-5)
BACKWARD = replace(BALL, name="backward", rotation_rate=-2e-4)
STILL = replace(BALL, name="still", rotation_rate=0.0)
BODIES = {body.name: body for body in (earth(), mars(), moon(), BALL, BACKWARD)}

names = st.sampled_from(sorted(BODIES))
latitudes = st.floats(-1.5, 1.5)
longitudes = st.floats(-2 * pi, 2 * pi)
inclinations = st.floats(0.02, pi - 0.02)


def mission_to(
    body: Body, latitude: float, inclination: float | None, node: float, longitude: float = 0.0
) -> Mission:
    return Mission(
        body=body,
        site=LaunchSite(latitude=latitude, longitude=longitude),
        orbit=CircularOrbit(altitude=400 * km, inclination=inclination, ascending_node=node),
    )


def normal(inclination: float, node: float) -> np.ndarray:
    return np.array([sin(inclination) * sin(node), -sin(inclination) * cos(node), cos(inclination)])


@given(names, latitudes, inclinations, longitudes, longitudes, st.floats(-1e6, 1e6))
def test_both_passes_bring_the_site_into_the_plane_within_a_day(
    name: str, latitude: float, inclination: float, node: float, longitude: float, since: float
) -> None:
    mission = mission_to(BODIES[name], latitude, inclination, node, longitude)
    least = abs(geocentric_latitude(mission.body, latitude, 0.0))
    passes = plane_passes(mission, since)
    if min(inclination, pi - inclination) < least - 1e-8:
        assert passes == ()
        assert "never lies in the orbit's plane" in lift_off_text(mission)
        return
    if min(inclination, pi - inclination) < least + 1e-6:  # due east: two that are one
        return
    assert sorted(one.northward for one in passes) == [False, True]
    assert since <= passes[0].time <= passes[1].time < since + day(mission.body)
    for one in passes:
        there = replace(mission, lift_off_time=one.time)
        place = np.array(lift_off(there)[0])
        assert abs(normal(inclination, node) @ place) < 1e-8 * mission.body.radius
        assert out_of_plane(there) == pytest.approx(0.0, abs=1e-8)
        along = np.cross(normal(inclination, node), place)
        assert (along[2] > 0.0) == one.northward


@given(names, latitudes, inclinations, longitudes, st.floats(-1e5, 1e5))
def test_the_angle_out_of_the_plane_is_that_of_the_site(
    name: str, latitude: float, inclination: float, node: float, instant: float
) -> None:
    mission = replace(mission_to(BODIES[name], latitude, inclination, node), lift_off_time=instant)
    place = np.array(lift_off(mission)[0])
    sine = normal(inclination, node) @ place / np.linalg.norm(place)
    assert sin(out_of_plane(mission)) == pytest.approx(sine, abs=1e-12)
    # No plane that passes over the site is turned into this one by less than that angle.
    least = abs(geocentric_latitude(mission.body, latitude, 0.0))
    if min(inclination, pi - inclination) > least:
        assert angle_that_waiting_saves(mission) > abs(out_of_plane(mission)) - 1e-7


def test_passes_of_a_ball_by_hand() -> None:
    latitude, inclination, node = 30 * deg, 50 * deg, 1.0
    mission = mission_to(BALL, latitude, inclination, node, longitude=0.2)
    east = asin(tan(latitude) / tan(inclination))
    by_hand = [(node + east - 0.2) / 7e-5, (node + pi - east - 0.2) / 7e-5]
    assert [one.time for one in plane_passes(mission)] == pytest.approx(by_hand, rel=1e-12)
    assert [one.northward for one in plane_passes(mission)] == [True, False]
    text = lift_off_text(replace(mission, lift_off_time=12.34))
    assert text == (
        "lift-off at 12.3 s of a day of 89759.8 s; the site lies in the orbit's plane at "
        f"{by_hand[0]:.1f} s (northward) and {by_hand[1]:.1f} s (southward)"
    )


def test_a_plane_due_east_is_passed_once_a_day() -> None:
    mission = mission_to(BALL, 28.5 * deg, 28.5 * deg, 269.8 * deg)
    first, second = plane_passes(mission)
    assert first.time == pytest.approx((359.8 * deg) / 7e-5)
    assert first.time == pytest.approx(second.time)


@given(names, latitudes, longitudes, longitudes)
def test_the_body_turns_the_site_as_far_as_asked(
    name: str, latitude: float, longitude: float, angle: float
) -> None:
    mission = mission_to(BODIES[name], latitude, 1.0, 0.0, longitude)
    instant = time_to_turn(mission, angle)
    assert 0.0 <= instant < day(mission.body)
    x, y, z = lift_off(replace(mission, lift_off_time=0.0))[0]
    turned = [x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle), z]
    assert lift_off(replace(mission, lift_off_time=instant))[0] == pytest.approx(
        turned, abs=1e-8 * mission.body.radius
    )


def test_lift_off_at_zero_is_where_the_longitude_says_to_the_last_bit() -> None:
    mission = mission_to(earth(), 0.5, 1.0, 0.0, longitude=1.3)
    assert lift_off(mission) == lift_off(replace(mission, lift_off_time=0.0))


def test_a_launch_waits_only_where_the_body_turns_and_a_node_is_given() -> None:
    mission = mission_to(BALL, 0.3, 0.7, 1.0)
    assert waits_for_its_orbit(mission)
    assert not waits_for_its_orbit(replace(mission, lift_off_time=0.0))
    assert not waits_for_its_orbit(replace(mission, orbit=CircularOrbit(altitude=400 * km)))
    still = replace(mission, body=STILL)
    assert not waits_for_its_orbit(still)
    assert plane_passes(still) == ()
    assert angle_that_waiting_saves(still) == 0.0
    assert lift_off_text(still) == ""


def test_a_site_at_the_pole_has_nothing_to_wait_for() -> None:
    mission = mission_to(BALL, pi / 2, pi / 2, 1.0)
    assert plane_passes(mission) == ()
    assert angle_that_waiting_saves(mission) == 0.0
    assert time_to_turn(mission, 2.0) == 0.0


def test_a_node_of_any_plane_has_no_passes_but_an_instant() -> None:
    mission = mission_to(BALL, 0.3, None, 1.0)
    assert waits_for_its_orbit(mission)
    assert plane_passes(mission) == ()
    text = lift_off_text(replace(mission, lift_off_time=7.0))
    assert text == "lift-off at 7.0 s of a day of 89759.8 s"


@given(latitudes, inclinations, longitudes, longitudes)
def test_the_node_of_a_flight_moves_as_the_site_is_turned(
    latitude: float, inclination: float, node: float, longitude: float
) -> None:
    """A state above the site at the pass, along the plane, has the node of the orbit."""
    mission = mission_to(BALL, latitude, inclination, node, longitude)
    for one in plane_passes(mission):
        place = np.array(lift_off(replace(mission, lift_off_time=one.time))[0])
        along = np.cross(normal(inclination, node), place)
        found = elements(4e14, place, along / np.linalg.norm(along) * 7e3)
        assert cos(found.ascending_node - node) == pytest.approx(1.0, abs=1e-9)
        assert found.inclination == pytest.approx(inclination, abs=1e-6)

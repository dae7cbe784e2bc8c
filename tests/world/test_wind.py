"""Wind: components, what it does to the forces, and that no wind costs nothing."""

from __future__ import annotations

from dataclasses import replace
from math import cos, sin

import casadi as ca
import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.units import deg, km
from ascentopt.world import air_velocity, ground_velocity, site_position

AIR = ao.Atmosphere.exponential(surface_density=1.2, scale_height=8 * km, ceiling=100 * km)
WIND = ao.Wind(altitude=(0, 5e3, 11e3, 20e3), eastward=(3, 20, 45, 45), northward=(-2, 4, 0, 6))
EARTH = replace(ao.earth(), atmosphere=replace(AIR, wind=WIND))


def test_the_table_goes_through_its_points_and_stays_beyond_them() -> None:
    for place, east, north in zip(WIND.altitude, WIND.eastward, WIND.northward, strict=True):
        assert WIND.at(place) == (pytest.approx(east), pytest.approx(north))
    assert WIND.at(9e4) == (pytest.approx(45.0), pytest.approx(6.0))
    assert WIND.at(-9e4) == (pytest.approx(3.0), pytest.approx(-2.0))


def test_slope_and_curvature_are_continuous_at_the_knots() -> None:
    for knot in WIND.altitude:
        east = np.array([WIND.at(knot + step)[0] for step in (-2.0, -1.0, 0.0, 1.0, 2.0)])
        bend = np.diff(east, 2)
        assert np.abs(np.diff(bend)).max() < 1e-7, knot


def test_a_vehicle_at_rest_feels_the_wind_against_its_components() -> None:
    """At a place whose east and north are known from its latitude and longitude."""
    latitude, longitude = 40 * deg, 75 * deg
    place = site_position(EARTH, latitude, longitude, 5e3)
    still = -ground_velocity(EARTH, place, ca.DM.zeros(3))
    felt = np.array(air_velocity(EARTH, place, still)).ravel()
    east = np.array([-sin(longitude), cos(longitude), 0.0])
    north = np.array(
        [-sin(latitude) * cos(longitude), -sin(latitude) * sin(longitude), cos(latitude)]
    )
    assert felt @ east == pytest.approx(-20.0, rel=1e-6)
    assert felt @ north == pytest.approx(-4.0, rel=1e-6)
    assert np.linalg.norm(felt) == pytest.approx(np.hypot(20.0, 4.0), rel=1e-6)


def test_a_wind_against_the_spin_stops_the_air() -> None:
    """On the equator the air of a turning body in that wind is the air of one that stands still."""
    spin, radius = 4e-5, 6.4e6
    heights = np.linspace(-4e4, 8e4, 13)
    against = ao.Wind(
        altitude=tuple(heights),
        eastward=tuple(-spin * (radius + heights)),
        northward=(0.0,) * len(heights),
    )
    body = ao.Body(
        name="Globe",
        gravitational_parameter=4e14,
        radius=radius,
        rotation_rate=spin,
        atmosphere=replace(AIR, wind=against),
    )
    place, motion = ca.DM([0.6 * (radius + 1e4), 0.8 * (radius + 1e4), 0.0]), ca.DM([50, -70, 20])
    felt = np.array(air_velocity(body, place, motion)).ravel()
    assert felt == pytest.approx([50.0, -70.0, 20.0], abs=1e-6)


def test_no_wind_adds_no_operation() -> None:
    position, velocity = ca.SX.sym("r", 3), ca.SX.sym("v", 3)
    arguments = [position, velocity]
    calm = replace(EARTH, atmosphere=AIR)
    counts = [
        ca.Function("f", arguments, [found(body, position, velocity)]).n_instructions()
        for found, body in ((air_velocity, calm), (ground_velocity, calm), (air_velocity, EARTH))
    ]
    assert counts[0] == counts[1] < counts[2]


def test_a_pole_has_no_east_and_no_number_that_is_none() -> None:
    felt = np.array(air_velocity(EARTH, ca.DM([0, 0, 6.36e6]), ca.DM([0, 0, 10]))).ravel()
    assert felt == pytest.approx([0.0, 0.0, 10.0], abs=1e-9)


@pytest.mark.parametrize(
    ("altitude", "eastward", "text"),
    [
        ((0.0,), (1.0,), "fewer than 2 altitudes"),
        ((0.0, 1.0), (1.0,), "they must be equally many"),
        ((1.0, 0.0), (1.0, 2.0), "Sort the table"),
        ((0.0, 1.0), (1.0, float("inf")), "must be a finite number"),
    ],
)
def test_winds_that_cannot_be(
    altitude: tuple[float, ...], eastward: tuple[float, ...], text: str
) -> None:
    with pytest.raises(ao.InputError, match=text):
        ao.Wind(altitude=altitude, eastward=eastward, northward=(0.0,) * len(altitude))


def test_saved_with_its_body_and_said() -> None:
    assert persistence.decode(persistence.encode(EARTH)) == EARTH
    assert "wind up to 45.4 m/s, given from 0 to 20 km" in str(EARTH)

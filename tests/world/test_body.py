"""Bodies, and the geometry and gravity around them, against independent NumPy."""

from __future__ import annotations

import pickle
from math import atan2, cos, inf, nan, pi, sin, sqrt
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.units import deg, km
from ascentopt.world import (
    Body,
    air_velocity,
    altitude,
    earth,
    geocentric_latitude,
    gravity,
    mars,
    moon,
    site_position,
    up,
)

BODIES = {body.name: body for body in (earth(), mars(), moon())}
SQUASHED = Body(
    name="Squashed",
    gravitational_parameter=1e13,
    radius=2000 * km,
    rotation_rate=1e-4,
    flattening=0.02,
)
latitudes = st.floats(-pi / 2, pi / 2)
longitudes = st.floats(-pi, pi)
heights = st.floats(-5e3, 1e6)


def place(body: Body, latitude: float, longitude: float, height: float) -> np.ndarray[Any, Any]:
    """A geodetic place, from the definition of the ellipsoid's normal."""
    a, b = body.radius, body.radius * (1 - body.flattening)
    normal = np.array(
        [cos(latitude) * cos(longitude), cos(latitude) * sin(longitude), sin(latitude)]
    )
    squares = np.array([a * a, a * a, b * b])
    foot = squares * normal / sqrt(float(squares @ normal**2))
    return np.asarray(foot + height * normal)


@pytest.mark.parametrize("name", BODIES)
@given(latitude=latitudes, longitude=longitudes, height=heights)
def test_altitude_is_that_of_the_ellipsoid(
    name: str, latitude: float, longitude: float, height: float
) -> None:
    body = BODIES[name]
    position = ca.DM(place(body, latitude, longitude, height))
    assert float(altitude(body, position)) == pytest.approx(height, abs=1e-6)


@given(latitude=latitudes, height=heights)
def test_altitude_holds_for_a_body_flatter_than_any_planet(latitude: float, height: float) -> None:
    position = ca.DM(place(SQUASHED, latitude, 0.3, height))
    assert float(altitude(SQUASHED, position)) == pytest.approx(height, abs=1e-3)


@pytest.mark.parametrize("name", BODIES)
@given(latitude=latitudes, longitude=longitudes, height=heights)
def test_up_is_the_normal_and_the_site_is_where_it_should_be(
    name: str, latitude: float, longitude: float, height: float
) -> None:
    body = BODIES[name]
    expected = place(body, latitude, longitude, height)
    assert np.array(site_position(body, latitude, longitude, height)).ravel() == pytest.approx(
        expected, abs=1e-7
    )
    normal = [cos(latitude) * cos(longitude), cos(latitude) * sin(longitude), sin(latitude)]
    vertical = np.array(up(body, ca.DM(expected))).ravel()
    assert vertical == pytest.approx(normal, abs=2e-9)


def test_geocentric_latitude_is_the_known_one() -> None:
    # tan(geocentric) = (1 - f)^2 tan(geodetic) on the ellipsoid itself.
    body = earth()
    known = atan2((1 - body.flattening) ** 2 * sin(0.6), cos(0.6))
    assert geocentric_latitude(body, 0.6, 0.0) == pytest.approx(known, abs=1e-15)
    assert geocentric_latitude(moon(), 0.6, 0.0) == pytest.approx(0.6, abs=1e-15)
    assert geocentric_latitude(body, 0.6, 1e9) == pytest.approx(0.6, abs=1e-4)


@pytest.mark.parametrize("body", [*BODIES.values(), SQUASHED], ids=lambda body: body.name)
@pytest.mark.parametrize("where", ["pole", "equator", "centre"])
def test_everything_is_finite_with_derivatives_at_singular_places(body: Body, where: str) -> None:
    spots: dict[str, list[float]] = {
        "pole": [0, 0, body.polar_radius],
        "equator": [body.radius, 0, 0],
        "centre": [0, 0, 0],
    }
    r = ca.SX.sym("r", 3)
    out = ca.vertcat(altitude(body, r), up(body, r), gravity(body, r))
    f = ca.Function("all", [r], [out, ca.jacobian(out, r)])
    values = [np.array(v) for v in f(spots[where])]
    assert all(np.isfinite(v).all() for v in values)
    if where == "pole":
        assert values[0][0, 0] == pytest.approx(0.0, abs=1e-6)
        assert values[0][1:4, 0] == pytest.approx([0, 0, 1], abs=1e-9)


def test_the_gradient_of_altitude_is_up() -> None:
    body = earth()
    r = ca.SX.sym("r", 3)
    f = ca.Function("f", [r], [ca.gradient(altitude(body, r), r) - up(body, r)])
    miss = np.array(f(place(body, 0.7, 1.1, 200 * km)))
    assert np.abs(miss).max() < 1e-9


def potential(body: Body, r: np.ndarray[Any, Any]) -> float:
    """Potential of a body with J2, in longdouble so that it can be differenced."""
    r = r.astype(np.longdouble)
    distance = np.sqrt(r @ r)
    sine = r[2] / distance
    oblate = body.j2 * (body.radius / distance) ** 2 * (3 * sine**2 - 1) / 2
    return np.longdouble(body.gravitational_parameter) / distance * (1 - oblate)  # type: ignore[no-any-return]


@pytest.mark.parametrize("name", BODIES)
@given(latitude=latitudes, longitude=longitudes, height=st.floats(0.0, 2e6))
def test_gravity_is_the_gradient_of_the_potential(
    name: str, latitude: float, longitude: float, height: float
) -> None:
    body = BODIES[name]
    r = place(body, latitude, longitude, height)
    step = 10.0
    shifts = step * np.eye(3)
    slope = [float((potential(body, r + s) - potential(body, r - s)) / (2 * step)) for s in shifts]
    acceleration = np.array(gravity(body, ca.DM(r))).ravel()
    size = float(np.linalg.norm(acceleration))
    assert acceleration == pytest.approx(slope, abs=1e-9 * size)


def test_gravity_at_the_equator_and_the_pole_is_the_earth_s() -> None:
    # WGS 84: normal gravity 9.7803253 m/s^2 at the equator, centrifugal part taken out, and
    # 9.8321849 at the pole; J2 alone comes within 2e-5 of them.
    body = earth()
    equator = float(ca.norm_2(gravity(body, ca.DM([body.radius, 0, 0]))))
    pole = float(ca.norm_2(gravity(body, ca.DM([0, 0, body.polar_radius]))))
    assert equator - body.rotation_rate**2 * body.radius == pytest.approx(9.7803253, rel=2e-5)
    assert pole == pytest.approx(9.8321849, rel=2e-5)


def test_air_turns_with_the_body() -> None:
    body = earth()
    r, v = np.array([6.5e6, 1e6, 2e6]), np.array([100.0, 200.0, 300.0])
    relative = np.array(air_velocity(body, ca.DM(r), ca.DM(v))).ravel()
    assert relative == pytest.approx(v - np.cross([0, 0, body.rotation_rate], r), abs=1e-10)


@pytest.mark.parametrize("kind", [ca.SX, ca.MX])
def test_symbols_and_numbers_agree(kind: Any) -> None:
    body, r, v = earth(), kind.sym("r", 3), kind.sym("v", 3)

    def everything(r: Any, v: Any) -> Any:
        return ca.vertcat(
            altitude(body, r), up(body, r), gravity(body, r), air_velocity(body, r, v)
        )

    position, velocity = place(body, 0.5, 0.2, 1e5), [1.0, 2.0, 3.0]
    f = ca.Function("f", [r, v], [everything(r, v)])
    numbers = np.array(everything(ca.DM(position), ca.DM(velocity)))
    assert np.array(f(position, velocity)) == pytest.approx(numbers, rel=1e-14)


def test_the_rotation_of_each_body_is_that_of_its_sidereal_day() -> None:
    # Sidereal rotation periods in hours, NASA GSFC fact sheets (from memory).
    for body, hours in ((earth(), 23.9345), (mars(), 24.6229), (moon(), 655.720)):
        assert 2 * pi / body.rotation_rate / 3600 == pytest.approx(hours, rel=2e-5)


def test_surface_gravity_of_each_body_is_as_published() -> None:
    # Equatorial surface gravity in m/s^2 without spin, NASA GSFC fact sheets (from memory):
    # Earth 9.798 (volumetric mean 9.820), Mars 3.71, Moon 1.62.
    for body, value in ((earth(), 9.798), (mars(), 3.71), (moon(), 1.62)):
        assert body.gravitational_parameter / body.radius**2 == pytest.approx(value, rel=3e-3)


@pytest.mark.parametrize("body", [*BODIES.values(), SQUASHED], ids=lambda body: body.name)
def test_bodies_survive_a_round_trip(body: Body) -> None:
    assert pickle.loads(pickle.dumps(body)) == body
    assert hash(pickle.loads(pickle.dumps(body))) == hash(body)
    assert body.name in str(body)


GOOD: dict[str, Any] = {
    "name": "Rock",
    "gravitational_parameter": 1e13,
    "radius": 2e6,
    "rotation_rate": 1e-4,
}


@pytest.mark.parametrize("field", ["gravitational_parameter", "radius"])
@pytest.mark.parametrize("value", [nan, inf, -1.0, 0.0, "big", None, True])
def test_a_body_refuses_nonsense(field: str, value: Any) -> None:
    with pytest.raises(InputError, match=f"Body 'Rock': {field} is "):
        Body(**{**GOOD, field: value})


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"rotation_rate": 0.01}, "it must be slower than a surface orbit"),
        ({"rotation_rate": nan}, "rotation_rate is nan rad/s; it must be a finite number"),
        ({"flattening": 298.257}, "flattening is 298.257; it must be between 0 and 0.2"),
        ({"j2": 1082.6}, "j2 is 1082.6; it must be between -0.1 and 0.1"),
        ({"atmosphere": "thin"}, "atmosphere is 'thin'; it must be of type Atmosphere"),
        ({"name": ""}, "name is ''; it must be a text"),
    ],
)
def test_what_contradicts_itself_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        Body(**{**GOOD, **change})


def test_degrees_are_not_radians() -> None:
    assert 180 * deg == pytest.approx(pi)

"""Impulses between the parking circle and the orbit, where one of them or a direction vanishes."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation.mesh.radau import Array
from ascentopt.optimal.warm_start.parking_orbit import Impulse, impulses, mission_to_parking_circle
from ascentopt.units import deg, km
from ascentopt.world.orbital_elements import elements

MOON = ao.moon()
MU = MOON.gravitational_parameter


def to(orbit: ao.CircularOrbit | ao.EllipticalOrbit, latitude: float = 10.0) -> ao.Mission:
    """From so many degrees of latitude on the Moon."""
    return ao.Mission(body=MOON, site=ao.LaunchSite(latitude=latitude * deg), orbit=orbit)


def circling(radius: float, inclination: float) -> Array:
    """(7,) state at the ascending node, on the x axis, of a circle so many degrees inclined."""
    speed, tilt = sqrt(MU / radius), inclination * deg
    return np.array([radius, 0, 0, 0, speed * np.cos(tilt), speed * np.sin(tilt), 1000.0])


def flown(mission: ao.Mission, coasts: int, inclination: float) -> list[Impulse]:
    """Impulses from the circle that the mission is parked in."""
    circle = mission_to_parking_circle(mission, None, coasts)
    assert circle is not None
    radius = circle.orbit.semi_major_axis_around(MOON)
    assert radius is not None
    return impulses(mission, circling(radius, inclination), coasts)


def change(impulse: Impulse) -> float:
    """Its size in m/s."""
    return float(np.linalg.norm(impulse.after - impulse.before))


def test_of_an_eccentricity_alone_the_impulses_end_in_an_ellipse_of_that_shape() -> None:
    """Its size being free it was taken for the circle, and the only impulse vanished."""
    orbit = ao.EllipticalOrbit(
        eccentricity=0.4, inclination=40 * deg, argument_of_periapsis=-170 * deg
    )
    for coasts in (1, 2):
        last = flown(to(orbit), coasts, 40.0)[-1]
        reached = elements(MU, last.position, last.after)
        assert reached.eccentricity == pytest.approx(0.4, abs=1e-9)
        assert reached.argument_of_periapsis == pytest.approx(190 * deg, abs=1e-9)


@pytest.mark.parametrize("moved", [0.0, 1e-10, -1e-10])
def test_from_a_circle_as_high_as_the_orbit_the_first_burn_points_onwards(moved: float) -> None:
    """There is no transfer: what rounding leaves of the impulse has no direction of its own."""
    orbit = ao.CircularOrbit(altitude=15 * km * (1.0 + moved), inclination=2 * deg)
    first, second = flown(to(orbit), 2, 10.0)
    assert change(first) < 1.0
    assert first.direction @ first.before == pytest.approx(np.linalg.norm(first.before))
    assert change(second) > 100.0


@pytest.mark.parametrize("moved", [0.0, 1e-10, -1e-10])
def test_after_a_transfer_that_is_the_orbit_the_second_burn_points_onwards(moved: float) -> None:
    """An ellipse that begins at the circle needs one impulse, wherever its periapsis lies."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=10 * km * (1.0 + moved),
        apoapsis_altitude=300 * km,
        inclination=40 * deg,
        argument_of_periapsis=60 * deg,
    )
    first, second = flown(to(orbit), 2, 40.0)
    assert change(first) > 10.0
    assert change(second) < 1.0
    assert second.direction @ second.before == pytest.approx(np.linalg.norm(second.before))


@pytest.mark.parametrize("argument", [90.0, 89.9, -90.0])
def test_a_periapsis_square_to_the_circle_is_left_for_where_the_planes_meet(
    argument: float,
) -> None:
    """From a pole to an orbit over the equator: no place of the circle is near to the periapsis."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=60 * km,
        apoapsis_altitude=300 * km,
        inclination=0.0,
        argument_of_periapsis=argument * deg,
    )
    (only,) = flown(to(orbit, 90.0), 1, 90.0)
    assert abs(only.position[2]) < 1e-6 * MOON.radius  # the circle meets the equator there
    reached = elements(MU, only.position, only.after)
    assert reached.inclination == pytest.approx(0.0, abs=1e-9)
    assert reached.apoapsis_radius - MOON.radius == pytest.approx(300 * km, rel=1e-6)


def test_a_retrograde_orbit_is_parked_for_westward() -> None:
    """Turning an eastward circle about would take twice its speed."""
    orbit = ao.CircularOrbit(altitude=100 * km, inclination=178 * deg)
    circle = mission_to_parking_circle(to(orbit), None, 2)
    assert circle is not None
    assert circle.orbit.inclination == pytest.approx(170 * deg, abs=1e-6)


@pytest.mark.parametrize("given", ["eccentricity", "semi_major_axis", "apoapsis_altitude"])
@pytest.mark.parametrize("pad", [0.0, 600.0, 9000.0])
def test_from_a_raised_pad_the_circle_lies_above_the_vertical_rise(given: str, pad: float) -> None:
    """Its size being free it was as low as the pad, which no orbit may be, and was not begun."""
    sizes = {"eccentricity": 0.4, "semi_major_axis": 2500 * km, "apoapsis_altitude": 1500 * km}
    orbit = ao.EllipticalOrbit(**{given: sizes[given]}, inclination=74 * deg)
    site = ao.LaunchSite(latitude=84 * deg, altitude=pad)
    mission = ao.Mission(body=MOON, site=site, orbit=orbit, vertical_rise=100.0)
    for coasts in (1, 2):
        circle = mission_to_parking_circle(mission, None, coasts)
        assert circle is not None
        radius = circle.orbit.periapsis_radius_around(MOON)
        assert radius is not None
        assert radius > MOON.radius + pad + 100.0

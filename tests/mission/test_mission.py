"""Sites, orbits, limits and missions: what they say, and what contradicts itself."""

from __future__ import annotations

import pickle
from dataclasses import fields, replace
from math import inf, nan, pi
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.mission import (
    CircularOrbit,
    EllipticalOrbit,
    FlightLimits,
    LaunchSite,
    Mission,
)
from ascentopt.mission.limits import DEFAULT_Q_ALPHA
from ascentopt.units import deg, km, kPa
from ascentopt.world import Atmosphere, Body, earth, moon

EARTH, MOON = earth(), moon()
SITE = LaunchSite(latitude=-12 * deg, altitude=40.0)
MISSION = Mission(body=EARTH, site=SITE, orbit=CircularOrbit(altitude=300 * km))
BAD: list[Any] = [nan, inf, -inf, "high", True]

altitudes = st.floats(1e5, 1e8)
angles = st.floats(0.0, pi)


def test_a_mission_prints_what_it_asks_for() -> None:
    orbit = CircularOrbit(altitude=300 * km, inclination=51.6 * deg)
    text = str(replace(MISSION, orbit=orbit, site=replace(SITE, name="Windy Point")))
    assert "Mission from Earth to circular orbit at 300 km, inclination 51.6 deg" in text
    assert "Windy Point: latitude -12.000 deg" in text
    assert "q alpha 150 kPa deg" in text
    assert "vertical rise: 100 m" in text
    assert "vertical rise: none" in str(replace(MISSION, vertical_rise=None))


def test_the_default_limit_is_on_q_alpha_alone() -> None:
    limits = FlightLimits()
    assert limits.q_alpha == pytest.approx(150 * kPa * deg)
    set_fields = [f.name for f in fields(limits) if getattr(limits, f.name) is not None]
    assert set_fields == ["q_alpha"]
    assert FlightLimits.none().q_alpha is None
    assert str(FlightLimits.none()) == "no limits"
    assert str(FlightLimits(dynamic_pressure=40 * kPa)) == (
        "dynamic pressure 40 kPa, q alpha 150 kPa deg"
    )


@pytest.mark.parametrize("field", [f.name for f in fields(FlightLimits)])
@pytest.mark.parametrize("value", [*BAD, 0.0, -1.0])
def test_limits_refuse_nonsense(field: str, value: Any) -> None:
    with pytest.raises(InputError, match=rf"FlightLimits: {field} is .*or None for no limit"):
        FlightLimits(**{field: value})


def test_an_angle_of_attack_in_degrees_is_noticed() -> None:
    with pytest.raises(InputError, match=r"angle_of_attack is 6\.0 rad; it must be at most pi"):
        FlightLimits(angle_of_attack=6.0)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"latitude": -12.0}, "latitude is -12.0 rad; it must be between -1.5708 and 1.5708 rad"),
        ({"latitude": nan}, "latitude is nan rad; it must be a finite number"),
        ({"altitude": inf}, "altitude is inf m; it must be a finite number"),
        ({"longitude": 77.0}, "longitude is 77.0 rad; it must be between"),
        ({"name": None}, "name is None; it must be of type str"),
    ],
)
def test_a_bad_site_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        replace(SITE, **change)


@given(altitudes, altitudes)
def test_both_ways_to_give_an_ellipse_agree(one: float, other: float) -> None:
    low, high = sorted((one, other))
    by_altitude = EllipticalOrbit(periapsis_altitude=low, apoapsis_altitude=high)
    axis, eccentricity = (
        by_altitude.semi_major_axis_around(EARTH),
        by_altitude.eccentricity_around(EARTH),
    )
    assert axis is not None
    assert eccentricity is not None
    by_axis = EllipticalOrbit(semi_major_axis=axis, eccentricity=eccentricity)
    assert by_axis.periapsis_radius_around(EARTH) == pytest.approx(EARTH.radius + low, rel=1e-12)
    assert by_axis.apoapsis_radius_around(EARTH) == pytest.approx(EARTH.radius + high, rel=1e-12)


def test_free_elements_are_none() -> None:
    orbit = EllipticalOrbit(apoapsis_altitude=35786 * km)
    assert orbit.semi_major_axis_around(EARTH) is None
    assert orbit.eccentricity_around(EARTH) is None
    assert orbit.periapsis_radius_around(EARTH) is None
    assert orbit.apoapsis_radius_around(EARTH) == EARTH.radius + 35786 * km
    size = EllipticalOrbit(semi_major_axis=7e6)
    assert size.semi_major_axis_around(EARTH) == 7e6
    assert size.periapsis_radius_around(EARTH) is None


def test_a_circle_is_an_ellipse_without_eccentricity() -> None:
    circle = CircularOrbit(altitude=300 * km)
    radius = EARTH.radius + 300 * km
    assert circle.semi_major_axis_around(EARTH) == radius
    assert circle.periapsis_radius_around(EARTH) == radius
    assert circle.apoapsis_radius_around(EARTH) == radius
    assert circle.eccentricity_around(EARTH) == 0.0


ELLIPSE = "EllipticalOrbit: "


@pytest.mark.parametrize(
    ("elements", "text"),
    [
        ({}, "neither size nor shape is given"),
        ({"inclination": 0.5}, "neither size nor shape is given"),
        (
            {"semi_major_axis": 7e6, "periapsis_altitude": 3e5},
            "semi_major_axis and periapsis_altitude are given together.* Keep one of the two",
        ),
        ({"eccentricity": 0.1, "apoapsis_altitude": 3e5}, "are given together"),
        (
            {"periapsis_altitude": 4e5, "apoapsis_altitude": 3e5},
            r"periapsis_altitude is 400000.0 m; it must be at most apoapsis_altitude \(300000",
        ),
        ({"semi_major_axis": -7e6}, "semi_major_axis is -7000000.0 m; it must be positive"),
        ({"semi_major_axis": 7e6, "eccentricity": 1.0}, r"eccentricity is 1.0; it must be in \[0"),
        ({"semi_major_axis": 7e6, "eccentricity": -0.1}, "eccentricity is -0.1"),
        ({"semi_major_axis": nan}, "semi_major_axis is nan m; it must be a finite number"),
        ({"apoapsis_altitude": inf}, "apoapsis_altitude is inf m; it must be a finite number"),
        ({"semi_major_axis": 7e6, "inclination": 51.6}, "inclination is 51.6 rad; it must be betw"),
        ({"semi_major_axis": 7e6, "ascending_node": 269.8}, "ascending_node is 269.8 rad"),
        (
            {"semi_major_axis": 7e6, "inclination": 0.0, "ascending_node": 1.0},
            "an equatorial orbit has no node",
        ),
        ({"semi_major_axis": 7e6, "argument_of_periapsis": 1.0}, "not known to have a periapsis"),
        (
            {"semi_major_axis": 7e6, "eccentricity": 0.0, "argument_of_periapsis": 1.0},
            "not known to have a periapsis; its eccentricity must be given and above 0",
        ),
        (
            {"periapsis_altitude": 3e5, "apoapsis_altitude": 3e5, "argument_of_periapsis": 1.0},
            "not known to have a periapsis",
        ),
        (
            {"semi_major_axis": 7e6, "eccentricity": 0.1, "argument_of_periapsis": 130.5},
            "130.5 rad",
        ),
    ],
)
def test_a_bad_ellipse_is_refused(elements: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=ELLIPSE + ".*" + text):
        EllipticalOrbit(**elements)


@pytest.mark.parametrize("value", BAD)
def test_a_bad_circle_is_refused(value: Any) -> None:
    with pytest.raises(InputError, match="CircularOrbit: altitude is "):
        CircularOrbit(altitude=value)
    with pytest.raises(InputError, match="CircularOrbit: inclination is "):
        CircularOrbit(altitude=3e5, inclination=value)


def test_a_published_target_is_accepted_and_printed() -> None:
    # D. A. Benson, PhD thesis, MIT, 2004.
    orbit = EllipticalOrbit(
        semi_major_axis=24361140.0,
        eccentricity=0.7308,
        inclination=28.5 * deg,
        ascending_node=269.8 * deg,
        argument_of_periapsis=130.5 * deg,
    )
    assert str(orbit) == (
        "elliptical orbit, semi-major axis 24361.1 km, eccentricity 0.7308, inclination 28.5 deg, "
        "ascending node 269.8 deg, argument of periapsis 130.5 deg"
    )
    body = Body(
        name="Earth",
        gravitational_parameter=3.986012e14,
        radius=6378145.0,
        rotation_rate=7.29211585e-5,
        atmosphere=Atmosphere.exponential(
            surface_density=1.225,
            scale_height=7200.0,
            ceiling=100 * km,
            surface_temperature=288.15,
        ),
    )
    # Due east from the latitude of the inclination is the limit that must not be refused.
    site = LaunchSite(latitude=28.5 * deg)
    limits = FlightLimits.none()
    Mission(body=body, site=site, orbit=orbit, limits=limits, vertical_rise=None)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (
            {"orbit": CircularOrbit(altitude=300.0)},
            r"periapsis at 0\.3 km altitude or less; it must be above .*ceiling, 100 km on Earth",
        ),
        ({"orbit": CircularOrbit(altitude=100 * km)}, "must be above the atmosphere's ceiling"),
        (
            {"orbit": EllipticalOrbit(periapsis_altitude=80 * km, apoapsis_altitude=900 * km)},
            "periapsis at 80 km",
        ),
        ({"orbit": EllipticalOrbit(semi_major_axis=7e6, eccentricity=0.1)}, "periapsis at -78.1"),
        ({"orbit": EllipticalOrbit(semi_major_axis=6.4e6)}, "periapsis at 21.8"),
        ({"orbit": EllipticalOrbit(apoapsis_altitude=90 * km)}, "periapsis at 90 km"),
        ({"site": LaunchSite(latitude=0.1, altitude=-6e3)}, "site.altitude is -6000.0 m; it must"),
        ({"site": LaunchSite(latitude=0.1, altitude=120e3)}, r"the ceiling \(100000 m\)"),
        ({"vertical_rise": 0.0}, "vertical_rise is 0.0 m; it must be positive"),
        ({"vertical_rise": nan}, "vertical_rise is nan m; it must be a finite number"),
        ({"vertical_rise": 100 * km}, "vertical_rise is 100000.0 m and ends at 100040 m altitude"),
        ({"body": "Earth"}, "body is 'Earth'; it must be of type Body"),
        ({"site": None}, "site is None; it must be of type LaunchSite"),
        ({"orbit": 300e3}, "orbit is 300000.0; it must be of type CircularOrbit or EllipticalOrb"),
        ({"limits": None}, "limits is None; it must be of type FlightLimits"),
    ],
)
def test_a_mission_that_cannot_be_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        replace(MISSION, **change)


def test_an_airless_body_needs_only_an_orbit_above_the_ground() -> None:
    site = LaunchSite(latitude=0.2, altitude=3000.0)
    mission = Mission(body=MOON, site=site, orbit=CircularOrbit(altitude=15 * km))
    assert mission.floor == 3000.0
    assert MISSION.floor == 100 * km
    with pytest.raises(InputError, match="must be above the ground, 3 km on Moon"):
        replace(mission, orbit=CircularOrbit(altitude=2.9 * km))
    with pytest.raises(InputError, match="it must end below 15000 m"):
        replace(mission, vertical_rise=12 * km)
    with pytest.raises(InputError, match="below the centre of Moon"):
        replace(mission, site=LaunchSite(latitude=0.0, altitude=-2e6))


@given(st.floats(-pi / 2, pi / 2), angles)
def test_any_plane_may_be_asked_for(latitude: float, inclination: float) -> None:
    """Whether something can turn the plane after a coast is a question to the vehicle."""
    orbit = CircularOrbit(altitude=300 * km, inclination=inclination)
    assert replace(MISSION, site=LaunchSite(latitude=latitude), orbit=orbit).orbit == orbit


@pytest.mark.parametrize("value", BAD)
def test_an_instant_of_lift_off_is_seconds_or_none(value: Any) -> None:
    with pytest.raises(InputError, match=r"Mission: lift_off_time is .* or None to wait for the"):
        replace(MISSION, lift_off_time=value)


def test_the_instant_of_lift_off_is_printed_where_it_is_given_or_matters() -> None:
    node = CircularOrbit(altitude=300 * km, inclination=0.5, ascending_node=1.0)
    assert "lift-off" not in str(MISSION)
    assert "lift-off: when its plane comes round" in str(replace(MISSION, orbit=node))
    assert "lift-off: at 0 s" in str(replace(MISSION, orbit=node, lift_off_time=0.0))


@given(altitudes, st.floats(0.3, 2.8), st.floats(-0.3, 0.3), st.floats(1e3, 1e5))
def test_missions_survive_a_round_trip(
    altitude: float, inclination: float, latitude: float, limit: float
) -> None:
    mission = Mission(
        body=EARTH,
        site=LaunchSite(latitude=latitude, name="a"),
        orbit=CircularOrbit(altitude=altitude + 1.0, inclination=inclination),
        limits=FlightLimits(dynamic_pressure=limit, axial_acceleration=limit),
    )
    copy = pickle.loads(pickle.dumps(mission))
    assert copy == mission
    assert hash(copy) == hash(mission)
    for part in (mission.site, mission.orbit, mission.limits):
        assert eval(repr(part)) == part


def test_missions_that_differ_are_not_equal() -> None:
    assert replace(MISSION, vertical_rise=50.0) != MISSION
    assert replace(MISSION, limits=FlightLimits(q_alpha=DEFAULT_Q_ALPHA)) == MISSION


def test_an_infeasible_ascent_keeps_what_it_carries_across_processes() -> None:
    error = InfeasibleAscent("Short by 312 m/s.", shortfall=312.0, best=("flown",))
    copy = pickle.loads(pickle.dumps(error))
    assert str(copy) == copy.message == "Short by 312 m/s."
    assert copy.shortfall == 312.0
    assert copy.best == ("flown",)
    assert InfeasibleAscent("Unknown.").shortfall is None
    assert issubclass(InputError, ValueError)

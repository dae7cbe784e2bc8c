"""The way home against closed forms: vis-viva, rocket equation, Kepler's motion on the coast."""

from __future__ import annotations

from dataclasses import replace
from math import cos, log, pi, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.orbit.deorbit import deorbit_impulse
from ascentopt.typing import Floats
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN
from ascentopt.world.orbital_elements import elements, periapsis_radius
from tests.flight.rockets import globe
from tests.optimal.launchers import lander, moon_mission

# Burns that take no time, or a day: thought experiments, which are warned of.
pytestmark = pytest.mark.filterwarnings("ignore::ascentopt.UnusualInputWarning")

BALL = globe(gravity=9.8, radius=6.4e6, rotation_rate=7e-5)
AIR = ao.Atmosphere.exponential(
    surface_density=1.2, scale_height=7200.0, ceiling=100 * km, surface_temperature=288.15
)


def stage(thrust: float = 20 * kN) -> ao.Stage:
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=320.0)
    return ao.Stage(name="upper", propellant_mass=3000.0, dry_mass=500.0, engine=engine, restarts=2)


def state_on(mu: float, low: float, high: float, anomaly: float, tilt: float) -> Floats:
    """(6,) on an ellipse between two radii; the periapsis on the x axis, tilted about it."""
    e, p = (high - low) / (high + low), 2.0 * low * high / (low + high)
    radius, rate = p / (1.0 + e * cos(anomaly)), sqrt(mu / p)
    x, y = radius * cos(anomaly), radius * sin(anomaly)
    u, v = -rate * sin(anomaly), rate * (e + cos(anomaly))
    return np.array([x, y * cos(tilt), y * sin(tilt), u, v * cos(tilt), v * sin(tilt)])


def in_orbit(
    body: ao.Body = BALL,
    low: float = 300 * km,
    high: float = 300 * km,
    *,
    anomaly: float = 0.0,
    thrust: float = 20 * kN,
    mass: float = 2000.0,
) -> ao.OrbitingStage:
    mu, radius = body.gravitational_parameter, body.radius
    found = state_on(mu, radius + low, radius + high, anomaly, 0.7)
    return ao.OrbitingStage(
        name="Dunlin",
        body=body,
        stage=stage(thrust),
        position=tuple(found[:3]),
        velocity=tuple(found[3:]),
        mass=mass,
        payload_mass=400.0,
        restarts=1,
        time=500.0,
    )


def test_impulse_from_a_circle_is_half_a_hohmann_transfer() -> None:
    """H. D. Curtis, Orbital Mechanics for Engineering Students, 3rd ed., sec. 6.3, backwards."""
    mu, high, low = 3.986e14, 6.7e6, 6.43e6
    circular = sqrt(mu / high)
    expected = circular * (1.0 - sqrt(2.0 * low / (low + high)))
    place, motion = np.array([high, 0.0, 0.0]), np.array([0.0, circular, 0.0])
    assert deorbit_impulse(mu, place, motion, low) == pytest.approx(expected, rel=1e-12)


@given(st.floats(6.6e6, 2e7), st.floats(1.0, 4.0), st.floats(0.0, 2 * pi), st.floats(0.3, 0.99))
def test_impulse_lowers_the_periapsis_of_any_orbit(
    low: float, ratio: float, anomaly: float, share: float
) -> None:
    mu = 4e14
    state = state_on(mu, low, low * ratio, anomaly, 1.1)
    position, velocity = state[:3], state[3:]
    taken = deorbit_impulse(mu, position, velocity, share * low)
    speed = np.linalg.norm(velocity)
    slower = velocity * (1.0 - taken / speed)
    assert 0.0 < taken < speed
    assert elements(mu, position, slower).periapsis_radius == pytest.approx(share * low, rel=1e-9)
    assert periapsis_radius(mu, position, slower) == pytest.approx(share * low, rel=1e-9)


@given(st.floats(0.0, 2 * pi), st.floats(200.0, 2000.0), st.floats(1.0, 2.0), st.floats(-80, 80))
@settings(max_examples=15)
def test_the_flown_burn_is_an_impulse_at_high_thrust(
    anomaly: float, low: float, ratio: float, down: float
) -> None:
    start = in_orbit(BALL, low * km, ratio * low * km, anomaly=anomaly, thrust=2e6 * kN)
    down = down * km - 100 * km
    found = ao.deorbit(start, periapsis_altitude=down, coast=0.0)
    mu = BALL.gravitational_parameter
    impulse = deorbit_impulse(
        mu, np.array(start.position), np.array(start.velocity), BALL.radius + down
    )
    assert found.impulsive_delta_v == pytest.approx(impulse, rel=1e-12)
    assert found.delta_v == pytest.approx(impulse, rel=1e-6)


def test_what_the_length_of_the_burn_costs_falls_with_its_square() -> None:
    """Half as long a burn loses a quarter: the arc flown under thrust enters squared."""
    costs = []
    for thrust in (1.0, 2.0, 4.0):
        found = ao.deorbit(in_orbit(thrust=thrust * kN), periapsis_altitude=-50 * km)
        costs.append(found.delta_v - found.impulsive_delta_v)
    assert 0.0 < costs[2] < costs[0] < 1.0
    assert costs[0] / costs[1] == pytest.approx(4.0, rel=0.05)
    assert costs[1] / costs[2] == pytest.approx(4.0, rel=0.05)


@pytest.mark.parametrize("body", [BALL, ao.earth(), ao.mars(), replace(BALL, atmosphere=AIR)])
def test_propellant_closes_with_the_rocket_equation(body: ao.Body) -> None:
    found = ao.deorbit(in_orbit(body), periapsis_altitude=-20 * km)
    exhaust = 320.0 * STANDARD_GRAVITY
    assert found.propellant == pytest.approx(2000.0 * -np.expm1(-found.delta_v / exhaust), rel=1e-9)
    assert found.burn_time == pytest.approx(found.propellant * exhaust / 20e3, rel=1e-9)
    assert found.entry.mass == pytest.approx(2000.0 - found.propellant, rel=1e-12)
    assert found.suffices
    assert found.propellant_margin == pytest.approx(1100.0 - found.propellant, rel=1e-12)
    assert found.missing_propellant == 0.0


def test_energy_and_momentum_are_kept_on_the_way_down() -> None:
    found = ao.deorbit(in_orbit(high=900 * km, anomaly=1.0), periapsis_altitude=-20 * km)
    down = found.flight.trajectory.arcs[-1].states
    mu = BALL.gravitational_parameter
    radius = np.linalg.norm(down[:, :3], axis=1)
    energy = 0.5 * (down[:, 3:6] ** 2).sum(axis=1) - mu / radius
    momentum = np.cross(down[:, :3], down[:, 3:6])
    np.testing.assert_allclose(energy, energy[0], rtol=1e-9)
    size = np.linalg.norm(momentum[0])
    np.testing.assert_allclose((momentum - momentum[0]) / size, 0.0, atol=1e-9)


@pytest.mark.parametrize(("body", "bottom"), [(BALL, 0.0), (replace(BALL, atmosphere=AIR), 1e5)])
def test_entry_by_vis_viva_momentum_and_keplers_equation(body: ao.Body, bottom: float) -> None:
    start = in_orbit(body, 400 * km, 400 * km, thrust=2e6 * kN)
    found = ao.deorbit(start, periapsis_altitude=-30 * km)
    mu, high = body.gravitational_parameter, body.radius + 400 * km
    low, entry = body.radius - 30 * km, body.radius + bottom
    axis = 0.5 * (low + high)
    speed = sqrt(mu * (2.0 / entry - 1.0 / axis))
    momentum = sqrt(2.0 * mu * low * high / (low + high))
    eccentric = np.arccos((1.0 - entry / axis) / (1.0 - low / axis))
    mean = eccentric - (1.0 - low / axis) * sin(eccentric)
    assert found.entry.altitude == pytest.approx(bottom, abs=1e-3)
    assert found.entry.speed == pytest.approx(speed, rel=1e-7)
    assert cos(found.entry.flight_path_angle) == pytest.approx(momentum / entry / speed, rel=1e-7)
    assert found.entry.flight_path_angle < 0.0
    assert found.entry.fall_time == pytest.approx((pi - mean) * sqrt(axis**3 / mu), rel=1e-5)


def test_speed_to_the_air_and_place_by_hand() -> None:
    found = ao.deorbit(in_orbit(replace(BALL, atmosphere=AIR)), periapsis_altitude=40 * km)
    x, y, z, u, v, w, _ = found.flight.final_state
    air = np.array([u + 7e-5 * y, v - 7e-5 * x, w])
    up = np.array([x, y, z]) / np.linalg.norm([x, y, z])
    climb = air @ up / np.linalg.norm(air)
    assert found.entry.air_speed == pytest.approx(np.linalg.norm(air), rel=1e-12)
    assert sin(found.entry.air_flight_path_angle) == pytest.approx(climb, rel=1e-9)
    assert sin(found.entry.latitude) == pytest.approx(up[2], rel=1e-12)
    turned = np.arctan2(y, x) - 7e-5 * found.flight.final_time
    assert cos(found.entry.longitude - turned) == pytest.approx(1.0, abs=1e-12)
    assert found.flight.final_time > 500.0


@pytest.mark.parametrize("instant", [-4000.0, 2e5])
def test_a_body_that_has_turned_is_met_further_west(instant: float) -> None:
    """Unless the orbit has been turned by as much: then at the same place."""
    start = in_orbit()
    here = ao.deorbit(start, periapsis_altitude=-50 * km).entry
    late = replace(start, lift_off_time=instant)
    there = ao.deorbit(late, periapsis_altitude=-50 * km).entry
    turned = BALL.rotation_rate * instant
    assert cos(there.longitude - here.longitude + turned) == pytest.approx(1.0, abs=1e-12)
    c, s = cos(turned), sin(turned)
    spin = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    moved = replace(
        late, position=tuple(spin @ start.position), velocity=tuple(spin @ start.velocity)
    )
    same = ao.deorbit(moved, periapsis_altitude=-50 * km).entry
    assert cos(same.longitude - here.longitude) == pytest.approx(1.0, abs=1e-12)
    assert same.latitude == pytest.approx(here.latitude, abs=1e-9)


def test_what_is_missing_would_be_just_enough() -> None:
    start = in_orbit(mass=910.0)
    found = ao.deorbit(start, periapsis_altitude=-50 * km)
    assert not found.suffices
    assert found.missing_propellant == pytest.approx(found.propellant - 10.0, rel=1e-12)
    exhaust = 320.0 * STANDARD_GRAVITY
    assert found.propellant == pytest.approx(900.0 * np.expm1(found.delta_v / exhaust), abs=1e-5)
    again = replace(start, mass=start.mass + found.missing_propellant)
    enough = ao.deorbit(again, periapsis_altitude=-50 * km)
    assert abs(enough.propellant_margin) < 1e-5
    assert found.entry.mass == pytest.approx(900.0, abs=1e-5)


def test_the_stage_alone_needs_less() -> None:
    start = in_orbit()
    both = ao.deorbit(start, periapsis_altitude=-50 * km)
    alone = ao.deorbit(start, periapsis_altitude=-50 * km, with_payload=False)
    assert alone.propellant == pytest.approx(both.propellant * 1600.0 / 2000.0, rel=1e-4)
    assert alone.entry.mass == pytest.approx(1600.0 - alone.propellant)
    assert alone.start.propellant == both.start.propellant == pytest.approx(1100.0)
    assert "payload stays in orbit" in str(alone)


def test_the_burn_is_laid_around_the_apoapsis_where_it_costs_least() -> None:
    start = in_orbit(low=250 * km, high=2500 * km, anomaly=0.5, thrust=4 * kN)
    best = ao.deorbit(start, periapsis_altitude=-50 * km)
    half = best.coast + 0.5 * best.burn_time
    assert half == pytest.approx(start.orbit.time_to_apoapsis, abs=0.2)
    assert best.delta_v >= best.impulsive_delta_v
    for shift in (-600.0, -60.0, 60.0, 600.0):
        other = ao.deorbit(start, periapsis_altitude=-50 * km, coast=best.coast + shift)
        assert other.delta_v > best.delta_v


def test_past_the_apoapsis_it_waits_for_the_next() -> None:
    start = in_orbit(low=250 * km, high=2500 * km, anomaly=3.3)
    found = ao.deorbit(start, periapsis_altitude=-50 * km)
    assert 0.9 * start.orbit.period < found.coast < start.orbit.period


def test_no_restart_left_names_the_fix() -> None:
    start = replace(in_orbit(), restarts=0)
    with pytest.raises(ao.InputError, match=r"'upper' has no restart left.*one more restart"):
        ao.deorbit(start, periapsis_altitude=-50 * km)


@pytest.mark.parametrize(
    ("body", "altitude", "text"),
    [
        (BALL, 0.0, r"periapsis_altitude is 0\.0 m; it must be below the ground \(0 km\)"),
        (BALL, -6.4e6, "above the centre of Globe"),
        (BALL, float("nan"), "must be a finite number"),
        (ao.earth(), 1e5, r"below the ceiling of the air \(100 km\)"),
    ],
)
def test_a_periapsis_that_leads_nowhere(body: ao.Body, altitude: float, text: str) -> None:
    with pytest.raises(ao.InputError, match=text):
        ao.deorbit(in_orbit(body), periapsis_altitude=altitude)


def test_an_orbit_that_meets_the_air_anyway() -> None:
    with pytest.raises(ao.InputError, match="periapsis at 90 km and the apoapsis at 300 km"):
        ao.deorbit(in_orbit(ao.earth(), 90 * km, 300 * km), periapsis_altitude=50 * km)


def test_oblateness_may_keep_a_shallow_path_out_of_the_air() -> None:
    """The polar radius of the Earth is 21 km less than the equatorial that altitudes count from."""
    start = in_orbit(ao.earth(), 300 * km, 300 * km, anomaly=0.5 * pi)
    with pytest.raises(ao.InputError, match=r"comes no lower than 1\d\d.*lower periapsis"):
        ao.deorbit(start, periapsis_altitude=99 * km)


@pytest.mark.parametrize("down", [-130 * km, -500 * km])
def test_a_thrust_too_low_is_said(down: float) -> None:
    start = in_orbit(replace(BALL, atmosphere=AIR), 130 * km, 130 * km, thrust=0.05 * kN)
    with pytest.raises(ao.InputError, match="the thrust is too low"):
        ao.deorbit(start, periapsis_altitude=down)


@pytest.mark.parametrize(
    ("mass", "text"),
    [
        (800.0, r"mass is 800\.0 kg; it must be between 900 and 3900 kg"),
        (4000.0, "a full tank"),
        (-1.0, "must be positive"),
    ],
)
def test_masses_that_cannot_be(mass: float, text: str) -> None:
    with pytest.raises(ao.InputError, match=text):
        in_orbit(mass=mass)


def test_stages_in_orbit_that_cannot_be() -> None:
    with pytest.raises(ao.InputError, match="position has 2 values; it must have 3"):
        replace(in_orbit(), position=(1.0, 2.0))
    with pytest.raises(ao.InputError, match="whole number, 0 or more"):
        replace(in_orbit(), restarts=-1)


def test_saved_and_loaded_to_the_last_bit(tmp_path: Path) -> None:
    found = ao.deorbit(in_orbit(ao.earth()), periapsis_altitude=50 * km)
    found.save(tmp_path / "home.json")
    again = ao.Deorbit.load(tmp_path / "home.json")
    assert again == found
    assert str(again) == str(found)
    (tmp_path / "other.json").write_text('{"form": "ascent", "version": 1}')
    with pytest.raises(ao.InputError, match="this reads 'deorbit'"):
        ao.Deorbit.load(tmp_path / "other.json")


@pytest.mark.slow
def test_after_an_ascent_from_the_moon() -> None:
    """All the way: the flown insertion, its margin, the burn, the ground; vis-viva beside it."""
    stages = (replace(lander().stages[0], restarts=2),)
    ascent = ao.optimize(replace(lander(), stages=stages), moon_mission())
    found = ao.deorbit(ascent, periapsis_altitude=-5 * km)
    mu, radius = ascent.mission.body.gravitational_parameter, ascent.mission.body.radius
    circle = sqrt(mu / (radius + 100 * km))
    low, high = radius - 5 * km, radius + 100 * km
    impulse = circle * (1.0 - sqrt(2.0 * low / (low + high)))
    exhaust = 320.0 * STANDARD_GRAVITY
    assert found.start.propellant == pytest.approx(ascent.propellant_margin, abs=0.01)
    assert found.impulsive_delta_v == pytest.approx(impulse, rel=1e-4)
    assert exhaust * log(ascent.final_mass / found.entry.mass) == pytest.approx(impulse, rel=1e-3)
    assert found.flight.events["impact"].altitude == pytest.approx(0.0, abs=1e-3)
    assert found.start.time == ascent.flight_time
    assert -2 * deg < found.entry.flight_path_angle < 0.0


@pytest.mark.slow
def test_an_ascent_that_spent_its_restart_is_refused() -> None:
    ascent = ao.optimize(lander(), moon_mission())
    assert ascent.plan.restarts == 1
    with pytest.raises(ao.InputError, match="no restart left"):
        ao.deorbit(ascent, periapsis_altitude=-5 * km)

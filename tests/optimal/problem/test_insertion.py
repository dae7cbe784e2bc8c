"""Conditions of insertion: independent of each other wherever an orbit is flown."""

from __future__ import annotations

from math import cos, pi, sin

import casadi as ca
import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Condition, Ends
from ascentopt.collocation.mesh.radau import Array
from ascentopt.optimal.problem.linkage import VIRTUAL
from ascentopt.optimal.problem.target.aim import apsides, state_in_orbit_near
from ascentopt.optimal.problem.target.ellipse import (
    orbit_bounds,
    orbit_numbers,
    orbit_start,
    place_on,
)
from ascentopt.optimal.problem.target.terminal import insertion_condition
from ascentopt.typing import Expr
from ascentopt.units import deg, km
from ascentopt.world.orbital_elements import elements

EARTH = ao.earth()
MU, RADIUS = EARTH.gravitational_parameter, EARTH.radius
PACE = float(np.sqrt(MU / RADIUS))
LOW = RADIUS + 400 * km

SHAPES = (0.0, 1e-3, 0.02, 0.3, 0.8)
ARGUMENTS = (None, -60.0, 130.0)
ANOMALIES = (0.0, 0.7, pi, -1.9)
PLANES = ((None, None), (51.6, None), (5.0, None), (90.0, None), (175.0, None), (97.0, 40.0),
          (0.0, None), (180.0, None), (None, 25.0), (28.5, -70.0), (90.0, 10.0))  # fmt: skip

INDEPENDENT = 0.1
"""Least singular value of the conditions in units of the body's radius, its circular speed and one
radian. The least of what is drawn here is 0.12, where the argument of an ellipse of 0.8 counts from
the node of a plane tilted by five degrees, which every push across it moves; 0.9 on circles."""


def angle(degrees: float | None) -> float | None:
    return None if degrees is None else degrees * deg


def mission(
    shape: float,
    plane: tuple[float | None, float | None] = (None, None),
    argument: float | None = None,
) -> ao.Mission:
    """To an ellipse that begins at 400 km."""
    orbit = ao.EllipticalOrbit(
        semi_major_axis=LOW / (1.0 - shape),
        eccentricity=shape,
        inclination=angle(plane[0]),
        ascending_node=angle(plane[1]),
        argument_of_periapsis=angle(argument) if shape else None,
    )
    return to(orbit)


def to(orbit: ao.EllipticalOrbit | ao.CircularOrbit) -> ao.Mission:
    """From a site off the equator and the poles, where no plane is tilted and no node held."""
    return ao.Mission(body=EARTH, site=ao.LaunchSite(latitude=10 * deg), orbit=orbit)


def state_on(task: ao.Mission, anomaly: float, rng: np.random.Generator) -> Array:
    """(6,) position and velocity on the orbit, free angles drawn: rotations, no conditions."""
    orbit = task.orbit
    tilt = rng.uniform(0.2, pi - 0.2) if orbit.inclination is None else orbit.inclination
    node = rng.uniform(-pi, pi) if orbit.ascending_node is None else orbit.ascending_node
    node = 0.0 if tilt in (0.0, pi) else node
    argument = getattr(orbit, "argument_of_periapsis", None)
    argument = rng.uniform(-pi, pi) if argument is None else argument
    radius, climb, across = place_on(MU, apsides(task), cos(anomaly), sin(anomaly))
    along = np.array([cos(node), sin(node), 0.0])
    beyond = np.array([-sin(node) * cos(tilt), cos(node) * cos(tilt), sin(tilt)])
    turn = argument + anomaly
    up, ahead = cos(turn) * along + sin(turn) * beyond, cos(turn) * beyond - sin(turn) * along
    return np.concatenate((radius * up, climb * up + across * ahead))


def rows(condition: Condition, count: int) -> tuple[ca.Function, ca.Function]:
    """Scaled rows and their slope as functions of the scaled state (6,) and ``count`` numbers."""
    units = ca.DM([*(RADIUS,) * 3, *(PACE,) * 3])
    sizes = ca.DM([RADIUS, RADIUS, 1.0][:count])
    x = ca.SX.sym("x", 6 + count)
    state = ca.vertcat(x[:6] * units, 1.0)
    free = ca.vertcat(ca.SX.zeros(VIRTUAL), x[6:] * sizes)
    ends = Ends((state,), (state,), ca.SX.zeros(2), free, ca.SX.zeros(7))
    scales = ca.DM([q.scale for q in condition.quantities])
    value: Expr = (condition.expression(ends) - ca.DM(list(condition.bounds.lower))) / scales
    return ca.Function("rows", [x], [value]), ca.Function("slope", [x], [ca.jacobian(value, x)])


def point(task: ao.Mission, state: Array, anomaly: float | None = None) -> Array:
    """The scaled state and numbers: those to begin with, or with the true anomaly."""
    numbers = orbit_start(task, state)
    if anomaly is not None and len(numbers) == 3:
        numbers[2] = anomaly
    sizes = np.array([RADIUS, RADIUS, 1.0])[: len(numbers)]
    return np.concatenate((state[:3] / RADIUS, state[3:] / PACE, numbers / sizes))


def least_singular_value(task: ao.Mission, *states: Array) -> float:
    """Of the conditions by the state and those numbers that are free, the least of all states."""
    bounds = orbit_bounds(task)
    kept = np.array([True] * 6 + [a < b for a, b in zip(bounds.lower, bounds.upper, strict=True)])
    _, slope = rows(insertion_condition(task), len(bounds))
    slopes = (slope(point(task, state)).full()[:, kept] for state in states)
    return min(float(np.linalg.svd(one, compute_uv=False)[-1]) for one in slopes)


@pytest.mark.parametrize("plane", PLANES, ids=str)
@pytest.mark.parametrize("shape", SHAPES)
def test_the_conditions_are_independent_on_the_orbit_and_near_it(
    shape: float, plane: tuple[float | None, float | None]
) -> None:
    rng = np.random.default_rng(0)
    for argument in ARGUMENTS:
        task = mission(shape, plane, argument)
        on = [state_on(task, anomaly, rng) for anomaly in ANOMALIES]
        near = [state * (1.0 + 0.02 * rng.uniform(-1.0, 1.0, 6)) for state in on]
        assert least_singular_value(task, *on, *near) > INDEPENDENT


@pytest.mark.parametrize(
    "given",
    [
        {"apoapsis_altitude": 800 * km},
        {"periapsis_altitude": 300 * km},
        {"semi_major_axis": RADIUS + 500 * km},
        {"eccentricity": 0.02},
        {"eccentricity": 0.02, "argument_of_periapsis": 40 * deg},
    ],
)
def test_they_are_with_free_apsides_too(given: dict[str, float]) -> None:
    task, rng = to(ao.EllipticalOrbit(**given)), np.random.default_rng(1)
    on = (state_on(task, anomaly, rng) for anomaly in ANOMALIES)
    assert least_singular_value(task, *on) > INDEPENDENT


def test_energy_and_angular_momentum_are_not_on_what_is_nearly_a_circle() -> None:
    """What the conditions must not be: a hundredth of what is asked of them."""
    x = ca.SX.sym("x", 6)
    position, velocity = x[:3], x[3:]
    energy = 0.5 * ca.sumsqr(velocity) - 1.0 / ca.norm_2(position)
    pair = ca.vertcat(energy, ca.norm_2(ca.cross(position, velocity)))
    slope = ca.Function("slope", [x], [ca.jacobian(pair, x)])
    task = mission(1e-3)
    state = state_on(task, 0.0, np.random.default_rng(0))
    matrix = slope(point(task, state)[:6]).full()
    assert np.linalg.svd(matrix, compute_uv=False)[-1] < 0.02 * INDEPENDENT
    assert least_singular_value(task, state) > INDEPENDENT


@pytest.mark.parametrize("plane", PLANES, ids=str)
@pytest.mark.parametrize("shape", SHAPES)
def test_a_state_on_the_orbit_meets_them(
    shape: float, plane: tuple[float | None, float | None]
) -> None:
    rng = np.random.default_rng(2)
    for argument in ARGUMENTS:
        task = mission(shape, plane, argument)
        value, _ = rows(insertion_condition(task), len(orbit_numbers(task)))
        for anomaly in ANOMALIES:
            state = state_on(task, anomaly, rng)
            assert np.abs(value(point(task, state, anomaly)).full()).max() < 1e-8


@pytest.mark.parametrize("plane", [(51.6, None), (97.0, 40.0), (0.0, None), (180.0, None)], ids=str)
def test_a_periapsis_half_a_revolution_off_does_not(
    plane: tuple[float | None, float | None],
) -> None:
    """It did, where the sine of its offset was all that was asked for."""
    task, rng = mission(0.02, plane, 40.0), np.random.default_rng(2)
    value, _ = rows(insertion_condition(task), len(orbit_numbers(task)))
    for anomaly in ANOMALIES:
        opposite = -state_on(task, anomaly, rng)
        assert np.abs(value(point(task, opposite)).full()).max() > 0.005


@pytest.mark.parametrize("shape", [1e-3, 0.02, 0.3, 0.8])
@pytest.mark.parametrize("anomaly", [0.0, 0.7, pi, -1.9])
def test_the_anomaly_to_begin_with_is_that_of_the_nearest_place(
    shape: float, anomaly: float
) -> None:
    """The state's own on the orbit; near it, on an ellipse that is hardly one, nothing wild."""
    task = mission(shape)
    state = state_on(task, anomaly, np.random.default_rng(3))
    found = orbit_start(task, state)
    assert found[:2] == pytest.approx(apsides(task))
    assert abs(np.angle(np.exp(1j * (found[2] - anomaly)))) < 0.01


def test_a_guess_is_brought_to_the_periapsis_or_where_the_argument_puts_it() -> None:
    rng = np.random.default_rng(4)
    free, fixed = mission(0.3), mission(0.3, (51.6, None), 40.0)
    for task in (free, fixed):
        flown = np.append(0.9 * state_on(task, 1.0, rng), 1.0)
        there = state_in_orbit_near(task, flown)
        orbit = elements(MU, there[:3], there[3:])
        assert orbit.periapsis_radius == pytest.approx(LOW)
        assert orbit.eccentricity == pytest.approx(0.3)
        assert there[:3] @ flown[:3] == pytest.approx(
            np.linalg.norm(there[:3]) * np.linalg.norm(flown[:3])
        )
    assert orbit_start(free, state_in_orbit_near(free, flown))[2] == pytest.approx(0.0, abs=1e-6)
    assert orbit.argument_of_periapsis == pytest.approx(40 * deg)


@pytest.mark.parametrize(
    ("given", "periapsis", "apoapsis"),
    [
        ({"apoapsis_altitude": 800 * km}, (100 * km, 800 * km), (800 * km, 800 * km)),
        ({"periapsis_altitude": 300 * km}, (300 * km, 300 * km), (300 * km, np.inf)),
        ({"semi_major_axis": RADIUS + 500 * km}, (100 * km, 500 * km), (500 * km, 900 * km)),
    ],
)
def test_free_apsides_stay_above_the_air(
    given: dict[str, float], periapsis: tuple[float, float], apoapsis: tuple[float, float]
) -> None:
    bounds = orbit_bounds(to(ao.EllipticalOrbit(**given)))
    assert bounds.lower[:2] == pytest.approx((RADIUS + periapsis[0], RADIUS + apoapsis[0]))
    assert bounds.upper[:2] == pytest.approx((RADIUS + periapsis[1], RADIUS + apoapsis[1]))


def test_a_state_that_falls_back_begins_with_an_orbit_above_the_air() -> None:
    task = to(ao.EllipticalOrbit(eccentricity=0.02))
    low, high, _ = orbit_start(task, np.array([RADIUS + 50 * km, 0.0, 0.0, 100.0, 3000.0, 0.0]))
    assert low == pytest.approx(RADIUS + EARTH.atmosphere.ceiling)  # type: ignore[union-attr]
    assert (high - low) / (high + low) == pytest.approx(0.02)

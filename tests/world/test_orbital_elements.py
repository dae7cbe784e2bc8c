"""Osculating elements against closed forms and a quadrature."""

from __future__ import annotations

from math import cos, inf, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from ascentopt.errors import InputError
from ascentopt.world.orbital_elements import OrbitalElements, apoapsis_radius, elements

MU = 3.986004418e14
INCLINED = st.floats(0.01, pi - 0.01)
TURNS = st.floats(0.0, 2.0 * pi)


def turned(angle: float, about: int) -> np.ndarray:
    """Matrix that turns vectors by an angle about the x (0) or z (2) axis."""
    c, s = cos(angle), sin(angle)
    if about == 0:
        return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def state(p: float, e: float, i: float, node: float, argument: float, anomaly: float) -> np.ndarray:
    """Position and velocity from the perifocal frame: the textbook's way back."""
    r = p / (1.0 + e * cos(anomaly))
    position = r * np.array([cos(anomaly), sin(anomaly), 0.0])
    velocity = sqrt(MU / p) * np.array([-sin(anomaly), e + cos(anomaly), 0.0])
    frame = turned(node, 2) @ turned(i, 0) @ turned(argument, 2)
    return np.concatenate([frame @ position, frame @ velocity])


def difference(a: float, b: float) -> float:
    """Between two angles, whole turns apart or not."""
    return abs((a - b + pi) % (2.0 * pi) - pi)


@given(st.floats(1e6, 1e8), st.floats(0.01, 3.0), INCLINED, TURNS, TURNS, st.floats(-1.8, 1.8))
def test_elements_come_back_from_the_state(
    p: float, e: float, i: float, node: float, argument: float, anomaly: float
) -> None:
    x = state(p, e, i, node, argument, anomaly)
    found = elements(MU, x[:3], x[3:])
    assert found.semi_latus_rectum == pytest.approx(p, rel=1e-10)
    assert found.eccentricity == pytest.approx(e, rel=1e-10)
    assert found.inclination == pytest.approx(i, abs=1e-12)
    # The smaller the eccentricity, and the inclination, the less certain what they give a place to.
    assert difference(found.ascending_node, node) < 1e-12 / sin(i)
    assert difference(found.argument_of_periapsis, argument) < 1e-12 / (e * sin(i))
    assert difference(found.true_anomaly, anomaly) < 1e-12 / e


@given(st.floats(7e6, 1e8), st.floats(0.0, 0.95))
def test_apsides_and_period_by_vis_viva(periapsis: float, e: float) -> None:
    axis = periapsis / (1.0 - e)
    speed = sqrt(MU * (2.0 / periapsis - 1.0 / axis))
    position, velocity = [0.0, periapsis, 0.0], [-speed, 0.0, 0.0]
    found = elements(MU, position, velocity)
    assert found.periapsis_radius == pytest.approx(periapsis, rel=1e-12)
    assert found.apoapsis_radius == pytest.approx(axis * (1.0 + e), rel=1e-12)
    assert apoapsis_radius(MU, position, velocity) == pytest.approx(axis * (1.0 + e), rel=1e-7)
    assert found.semi_major_axis == pytest.approx(axis, rel=1e-12)
    assert found.period == pytest.approx(2.0 * pi * sqrt(axis**3 / MU), rel=1e-12)


@pytest.mark.parametrize("e", [0.0, 0.3, 0.9, 1.0, 1.4, 3.0])
@pytest.mark.parametrize("anomaly", [0.4, 1.5])
def test_time_is_the_area_swept(e: float, anomaly: float) -> None:
    p = 9e6
    area = quad(lambda f: (p / (1.0 + e * cos(f))) ** 2, 0.0, anomaly, epsabs=0.0)[0]
    for sign in (1.0, -1.0):
        orbit = OrbitalElements(
            gravitational_parameter=MU,
            semi_latus_rectum=p,
            eccentricity=e,
            inclination=0.3,
            ascending_node=0.0,
            argument_of_periapsis=0.0,
            true_anomaly=(sign * anomaly) % (2.0 * pi),
        )
        assert orbit.time_from_periapsis == pytest.approx(sign * area / sqrt(MU * p), rel=1e-12)


def test_time_to_the_apoapsis_changes_its_sign_there() -> None:
    before, after = (state(9e6, 0.2, 0.5, 0.0, 0.0, pi + d) for d in (-1e-3, 1e-3))
    ahead = elements(MU, before[:3], before[3:]).time_to_apoapsis
    behind = elements(MU, after[:3], after[3:]).time_to_apoapsis
    assert ahead == pytest.approx(-behind, rel=1e-9)
    # At the apoapsis the angle grows at the rate h / r^2.
    assert ahead == pytest.approx(1e-3 * (9e6 / 0.8) ** 2 / sqrt(MU * 9e6), rel=1e-6)


def test_open_orbits_have_no_apoapsis() -> None:
    fast = 1.1 * sqrt(2.0 * MU / 7e6)
    found = elements(MU, [7e6, 0, 0], [0, fast, 0])
    assert found.eccentricity > 1.0
    assert found.apoapsis_radius == found.period == found.time_to_apoapsis == inf
    assert found.semi_major_axis < 0.0
    assert apoapsis_radius(MU, [7e6, 0, 0], [0, fast, 0]) == inf


def test_equatorial_and_circular_orbits_take_the_x_axis_for_what_they_lack() -> None:
    speed = sqrt(MU / 8e6)
    found = elements(MU, [0, 8e6, 0], [-speed, 0, 0])
    assert found.ascending_node == found.argument_of_periapsis == 0.0
    assert found.true_anomaly == pytest.approx(pi / 2)


def test_motion_through_the_centre_is_refused_but_has_an_apoapsis() -> None:
    with pytest.raises(InputError, match="no orbital plane"):
        elements(MU, [7e6, 0, 0], [100.0, 0, 0])
    # A stone at rest is at its highest; thrown up at v it gains v^2/2g nearly.
    assert apoapsis_radius(MU, [7e6, 0, 0], [0, 0, 0]) == pytest.approx(7e6, rel=1e-12)
    thrown = apoapsis_radius(MU, [7e6, 0, 0], [100.0, 0, 0])
    assert thrown - 7e6 == pytest.approx(100.0**2 / 2.0 / (MU / 7e6**2), rel=1e-3)


@given(st.floats(0.01, 0.9), st.floats(-3.0, 3.0), st.floats(0.01, 6.2))
def test_the_time_ahead_sweeps_the_area(e: float, start: float, angle: float) -> None:
    """Kepler's second law: dt = r^2 dnu / sqrt(mu p), by a quadrature."""
    p = 8e6
    x = state(p, e, 0.5, 1.0, 2.0, start)
    swept, _ = quad(
        lambda nu: (p / (1.0 + e * cos(nu))) ** 2, start, start + angle, epsrel=1e-10, limit=200
    )
    found = elements(MU, x[:3], x[3:]).time_ahead(angle)
    assert found == pytest.approx(swept / sqrt(MU * p), rel=1e-6)

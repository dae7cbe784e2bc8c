"""The clock of a coast on an orbit."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest

from ascentopt.optimal.guess.flown_arcs import even_in_phase

MU = 4.9e12
"""m^3/s^2, about the Moon's."""


def periapsis_of(low: float, high: float) -> tuple[np.ndarray, float]:
    """(7,) state at the periapsis of an ellipse, and half a revolution, s."""
    axis = 0.5 * (low + high)
    speed = sqrt(MU * (2.0 / low - 1.0 / axis))
    return np.array([low, 0.0, 0.0, 0.0, speed, 0.0, 1.0]), pi * sqrt(axis**3 / MU)


def test_on_a_circle_it_is_time() -> None:
    state, half = periapsis_of(2e6, 2e6)
    assert even_in_phase(MU, state, half, 8) == pytest.approx(np.linspace(0.0, 1.0, 9), abs=1e-6)


def test_steps_on_a_long_ellipse_are_as_long_as_the_orbit_is_slow_there() -> None:
    """The first and the last of many steps, times sqrt(mu/r^3) at either end."""
    low, high = 1.75e6, 21.7e6
    state, half = periapsis_of(low, high)
    steps = np.diff(even_in_phase(MU, state, half, 400)) * half
    assert steps[-1] / steps[0] == pytest.approx((high / low) ** 1.5, rel=0.01)


def test_an_open_orbit_has_no_phase() -> None:
    state = np.array([2e6, 0.0, 0.0, 0.0, 2.0 * sqrt(MU / 2e6), 0.0, 1.0])
    assert even_in_phase(MU, state, 1e3, 4) == pytest.approx(np.linspace(0.0, 1.0, 5))

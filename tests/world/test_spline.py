"""Splines beside SciPy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from ascentopt.world.spline import Spline


def points(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Uneven ones, a factor of thirty between neighbouring widths at the most."""
    draw = np.random.default_rng(count)
    return np.cumsum(draw.uniform(0.03, 1.0, count)) - 3.0, draw.normal(size=(count, 3))


@pytest.mark.parametrize("count", [2, 3, 4, 5, 13, 64, 700])
def test_values_are_scipys_within_and_beyond(count: int) -> None:
    x, y = points(count)
    asked = np.linspace(x[0] - 0.1, x[-1] + 0.1, 997)
    found, expected = Spline.through(x, y)(asked), CubicSpline(x, y)(asked)
    assert np.abs(found - expected).max() < 1e-11 * np.abs(expected).max()


@pytest.mark.parametrize("count", [3, 4, 13, 64])
def test_it_is_level_where_scipys_is(count: int) -> None:
    x, y = points(count)
    expected = np.sort(CubicSpline(x, y[:, 0]).derivative().roots(extrapolate=False))
    assert len(expected) > 0
    assert Spline.through(x, y).level() == pytest.approx(expected, abs=1e-9)


def test_a_straight_line_and_a_parabola_have_their_level_places_and_no_others() -> None:
    x = np.array([0.0, 1.0, 2.0, 4.0])
    assert len(Spline.through(x, 2.0 * x[:, np.newaxis]).level()) == 0
    bent = (x - 1.5)[:, np.newaxis] ** 2
    assert Spline.through(x, bent).level() == pytest.approx([1.5], abs=1e-12)

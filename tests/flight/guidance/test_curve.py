"""Curves through samples: exactness, order, jumps."""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.errors import InputError
from ascentopt.flight.guidance.tabulated_curve import Curve


def test_a_cubic_is_met_exactly() -> None:
    times = [0.0, 1.0, 2.5, 3.0, 5.0]
    cubic = np.polynomial.Polynomial([1.0, -2.0, 0.5, 0.25])
    curve = Curve.through(times, (cubic(np.array(times)),), ())
    for time in np.linspace(0.0, 5.0, 41):
        assert curve(time)[0] == pytest.approx(cubic(time), abs=1e-12)


def test_the_error_falls_with_the_fourth_power_of_the_spacing() -> None:
    asked = np.linspace(0.0, 3.0, 500)

    def error(count: int) -> float:
        times = np.linspace(0.0, 3.0, count)
        curve = Curve.through(times, (np.sin(times),), ())
        return max(abs(curve(t)[0] - float(np.sin(t))) for t in asked)

    order = np.log2(error(21) / error(41))
    assert 3.7 < order < 4.8


def test_a_time_given_twice_is_a_jump() -> None:
    curve = Curve.through([0.0, 1.0, 2.0, 2.0, 3.0], ([0.0, 1.0, 2.0, 7.0, 9.0],), ())
    assert curve(1.999999)[0] == pytest.approx(2.0, abs=1e-5)
    assert curve(2.0)[0] == pytest.approx(7.0)
    assert curve(2.5)[0] == pytest.approx(8.0)


def test_shaped_columns_do_not_overshoot_where_smooth_ones_would() -> None:
    times, steps = np.arange(6.0), np.array([1.0, 1.0, 1.0, 0.4, 0.4, 0.4])
    curve = Curve.through(times, (steps,), (steps,))
    values = np.array([curve(t) for t in np.linspace(0.0, 5.0, 301)])
    assert values[:, 0].max() > 1.01
    assert values[:, 1].max() <= 1.0
    assert values[:, 1].min() >= 0.4


def test_one_sample_is_a_constant_and_none_is_refused() -> None:
    assert Curve.through([0.0], ([3.0],), ([0.5],))(17.0) == [3.0, 0.5]
    with pytest.raises(InputError, match="at least one"):
        Curve.through([], ([],), ())

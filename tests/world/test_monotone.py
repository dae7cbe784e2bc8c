"""Slopes through which a cubic does not overshoot, against another implementation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from ascentopt.world.monotone import monotone_slopes

HEIGHTS = st.lists(st.sampled_from([-3.0, -1.0, 0.0, 0.5, 2.0, 7.0]), min_size=2, max_size=9)


@given(HEIGHTS, st.integers(0, 1000))
def test_the_slopes_are_those_of_another_implementation(heights: list[float], seed: int) -> None:
    x = np.cumsum(np.random.default_rng(seed).uniform(0.1, 2.0, len(heights)))
    y = np.array(heights)
    expected = PchipInterpolator(x, y).derivative()(x)
    assert monotone_slopes(x, y) == pytest.approx(expected, rel=1e-12, abs=1e-12)


def test_a_curve_that_turns_is_level_there() -> None:
    slopes = monotone_slopes(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0]))
    assert slopes[1] == 0.0
    assert slopes[0] == -slopes[2] > 0.0

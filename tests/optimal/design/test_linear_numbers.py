"""Slopes are read off changed things, and what is not linear is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.optimal.design.linear_numbers import Family
from ascentopt.typing import Floats

AT = np.array([3.0, -2.0])
CHANGED = (np.array([3.1, -2.0]), np.array([3.0, -1.8]), np.array([3.1, -1.8]))


def family() -> Family[Floats]:
    return Family(values=AT, changed=CHANGED, own=AT, others=CHANGED)


@given(st.lists(st.floats(-1e3, 1e3), min_size=3, max_size=3))
def test_linear_numbers_are_told_everywhere(numbers: list[float]) -> None:
    constant, *slopes = numbers
    found = family().linear("it", lambda d: np.array([constant + np.dot(slopes, d)]))
    for d in (AT, np.zeros(2), np.array([7.0, 5.0])):
        assert found.at(d)[0] == pytest.approx(constant + np.dot(slopes, d), rel=1e-7, abs=1e-7)


def test_what_has_no_bound_keeps_none() -> None:
    found = family().linear("it", lambda d: np.array([np.inf, d[0]]))
    assert found.constant[0] == np.inf
    assert not found.slopes[0].any()
    assert found.slopes[1] == pytest.approx([1.0, 0.0])


def test_a_product_and_a_ratio_are_refused() -> None:
    for crooked in (lambda d: np.array([d[0] * d[1]]), lambda d: np.array([d[0] / d[1]])):
        with pytest.raises(ao.InputError, match="it is not linear"):
            family().linear("it", crooked)


def test_the_least_between_bounds_is_at_a_corner() -> None:
    found = family().linear("it", lambda d: np.array([1.0 + 2.0 * d[0] - 3.0 * d[1]]))
    assert found.least(np.array([0.0, 0.0]), np.array([1.0, 1.0]))[0] == pytest.approx(-2.0)

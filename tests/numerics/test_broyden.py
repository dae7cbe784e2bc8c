"""The small solver that closes insertions."""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.numerics.broyden import solve_near
from ascentopt.typing import Floats

CLOSE = np.array([1e-6, 1e-6])


class Counted:
    """Two curved equations with the root (0.5, -0.25), and how often they were asked."""

    def __init__(self) -> None:
        self.asked = 0

    def __call__(self, x: Floats) -> Floats:
        self.asked += 1
        a, b = x[0] - 0.5, x[1] + 0.25
        return np.array([3.0 * a + b + a * a, 2.0 * b - a * b])


def test_it_finds_the_root() -> None:
    root = solve_near(Counted(), 2, CLOSE)
    assert root.x == pytest.approx([0.5, -0.25], abs=1e-6)


def test_a_borrowed_slope_saves_evaluations() -> None:
    alone, helped = Counted(), Counted()
    slope = solve_near(alone, 2, CLOSE).slope
    root = solve_near(helped, 2, CLOSE, slope)
    assert root.x == pytest.approx([0.5, -0.25], abs=1e-6)
    assert helped.asked < alone.asked


@pytest.mark.parametrize("slope", [-np.eye(2), np.zeros((2, 2)), 1e-3 * np.eye(2)])
def test_a_borrowed_slope_that_misleads_does_no_harm(slope: Floats) -> None:
    root = solve_near(Counted(), 2, CLOSE, slope)
    assert root.x == pytest.approx([0.5, -0.25], abs=1e-6)


def test_where_no_step_helps_it_ends_at_the_best_it_found() -> None:
    def nowhere(x: Floats) -> Floats:
        return np.array([1.0 + x[0] ** 2, x[1]])

    root = solve_near(nowhere, 2, CLOSE)
    assert abs(root.x[1]) < 1e-2
    assert nowhere(root.x)[0] < 1.1


def test_a_direction_that_changes_nothing_is_left_alone() -> None:
    root = solve_near(lambda x: np.array([x[0] - 0.5, 0.0]), 2, CLOSE)
    assert root.x == pytest.approx([0.5, 0.0], abs=1e-6)


def test_what_the_callable_raises_is_passed_on() -> None:
    def failing(x: Floats) -> Floats:
        raise KeyError("lost")

    with pytest.raises(KeyError, match="lost"):
        solve_near(failing, 2, CLOSE)

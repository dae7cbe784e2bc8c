"""Small quadratic programs: the conditions of the least hold, and an interrupt is heard."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.numerics.quadratic_program import QuadraticProgram


def drawn(seed: int, n: int, m: int) -> QuadraticProgram:
    """A convex program with a point that keeps all its rows."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(n, n))
    a = rng.normal(size=(m, n)) * 10.0 ** rng.uniform(-2, 2, size=(m, 1))
    b = a @ rng.normal(size=n) - np.abs(rng.normal(size=m)) * np.linalg.norm(a, axis=1)
    scale = 10.0 ** rng.uniform(-2, 2)
    return QuadraticProgram(
        h=scale * (root @ root.T + 1e-2 * np.eye(n)), g=10.0 * rng.normal(size=n), a=a, b=b
    )


@given(st.integers(0, 10**6), st.integers(1, 20), st.integers(0, 60))
def test_the_conditions_of_the_least_hold(seed: int, n: int, m: int) -> None:
    """They are sufficient, since the program is convex."""
    program = drawn(seed, n, m)
    x, prices = program.solved()
    sizes = np.linalg.norm(program.a, axis=1)
    room = (program.a @ x - program.b) / sizes
    assert np.all(prices >= 0.0)
    assert room.min(initial=0.0) > -1e-6
    slope = program.h @ x + program.g - program.a.T @ prices
    assert np.abs(slope).max() < 1e-5 * (1.0 + np.abs(program.g).max())
    cost = (1.0 + np.abs(program.g).max()) * (1.0 + np.abs(x).max())
    assert np.abs(room * prices * sizes).max(initial=0.0) < 1e-5 * cost


def test_a_row_that_asks_for_nothing_has_no_price() -> None:
    program = QuadraticProgram(
        h=np.eye(2), g=np.array([1.0, -1.0]), a=np.eye(2), b=np.array([-np.inf, 2.0])
    )
    x, prices = program.solved()
    assert x == pytest.approx([-1.0, 2.0], abs=1e-6)
    assert prices == pytest.approx([0.0, 1.0], abs=1e-6)


def test_a_program_without_rows_is_a_step_of_newtons() -> None:
    h = np.array([[2.0, 0.5], [0.5, 1.0]])
    program = QuadraticProgram(h=h, g=np.ones(2), a=np.zeros((0, 2)), b=np.zeros(0))
    x, prices = program.solved()
    assert h @ x == pytest.approx([-1.0, -1.0])
    assert len(prices) == 0

"""The C2 table: smooth, without overshoot, the same for floats, arrays and symbols."""

from __future__ import annotations

import pickle
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.world.table import SmoothTable, evaluate

HUMP = {"x": (0.0, 0.8, 1.1, 2.0, 5.0), "y": (0.3, 0.32, 0.6, 0.45, 0.25)}

points = st.lists(
    st.tuples(st.floats(0.05, 3.0), st.floats(-5.0, 5.0)), min_size=2, max_size=9
).map(lambda steps: (np.cumsum([s for s, _ in steps]), np.array([y for _, y in steps])))


def derivatives(table: SmoothTable, order: int) -> ca.Function:
    x = ca.SX.sym("x")
    value = table(x)
    for _ in range(order):
        value = ca.jacobian(value, x)
    return ca.Function("derivative", [x], [value])


@pytest.mark.parametrize("build", [SmoothTable.through, SmoothTable.held])
def test_it_reproduces_the_points(build: Any) -> None:
    table = build(**HUMP)
    assert table(np.array(HUMP["x"])) == pytest.approx(HUMP["y"], abs=1e-14)


@pytest.mark.parametrize("build", [SmoothTable.through, SmoothTable.held])
@pytest.mark.parametrize("order", [0, 1, 2])
def test_value_slope_and_curvature_are_continuous_at_every_knot(build: Any, order: int) -> None:
    table = build(**HUMP)
    f = derivatives(table, order)
    third = max(abs(float(derivatives(table, order + 1)(x))) for x in np.linspace(-1, 6, 701))
    gap = 1e-9
    for knot in table.knots:
        jump = abs(float(f(knot + gap)) - float(f(knot - gap)))
        assert jump <= 2 * gap * (third + 1.0) + 1e-12


def test_derivatives_agree_with_finite_differences_of_the_float_evaluation() -> None:
    table = SmoothTable.through(**HUMP)
    x, step = np.linspace(-0.7, 6.1, 137), 1e-4
    slope = (table(x + step) - table(x - step)) / (2 * step)
    bend = (table(x + step) - 2 * table(x) + table(x - step)) / step**2
    exact = [[float(derivatives(table, n)(v)) for v in x] for n in (1, 2)]
    assert slope == pytest.approx(exact[0], abs=1e-6)
    assert bend == pytest.approx(exact[1], abs=2e-2)  # third derivative x step + rounding


@given(points)
def test_it_never_leaves_the_range_of_neighbouring_points(data: Any) -> None:
    x, y = data
    table = SmoothTable.through(x=x, y=y)
    size = np.abs(y).max() + 1.0
    for i in range(len(x) - 1):
        between = table(np.linspace(x[i], x[i + 1], 60))
        ordered = np.sign(y[i + 1] - y[i]) * np.diff(between)
        assert ordered.min() >= -1e-12 * size


@given(points, st.floats(-20.0, 40.0))
def test_float_array_and_symbol_agree(data: Any, at: float) -> None:
    x, y = data
    table = SmoothTable.held(x=x, y=y)
    number = table(at)
    assert isinstance(number, float)
    assert table(np.array([[at]]))[0, 0] == number
    kinds: tuple[Any, ...] = (ca.SX, ca.MX)
    for kind in kinds:
        symbol = kind.sym("x")
        value = float(ca.Function("table", [symbol], [table(symbol)])(at))
        assert value == pytest.approx(number, abs=1e-11 * (np.abs(y).max() + 1.0))
    assert float(table(ca.DM(at))) == pytest.approx(number, abs=1e-11 * (np.abs(y).max() + 1.0))


@pytest.mark.parametrize("far", [-1e9, 1e9])
def test_far_outside_it_is_finite_and_goes_on_straight_or_level(far: float) -> None:
    end = 0 if far < 0 else -1
    straight = SmoothTable.through(x=(0.0, 1.0, 3.0), y=(0.0, 1.0, 4.0))
    level = SmoothTable.held(**HUMP)
    line = straight.values[end] + straight.slopes[end] * (far - straight.knots[end])
    assert straight(far) == pytest.approx(line, rel=1e-12)
    assert straight.slopes[end] != 0.0
    assert level(far) == pytest.approx(level.values[end], rel=1e-14)


def miss(count: int, low: float, high: float) -> float:
    x, fine = np.linspace(0.0, 2.0, count), np.linspace(low, high, 1001)
    return float(np.abs(SmoothTable.through(x=x, y=np.exp(x))(fine) - np.exp(fine)).max())


def test_a_smooth_function_is_approached_with_third_order_and_second_at_the_ends() -> None:
    # Slopes are right to second order; at the ends the curvature is put to zero.
    for coarse, fine in ((11, 21), (21, 41), (41, 81)):
        assert miss(coarse, 0.4, 1.6) / miss(fine, 0.4, 1.6) > 6.0
    for coarse, fine in ((41, 81), (81, 161)):
        assert miss(coarse, 0.0, 2.0) / miss(fine, 0.0, 2.0) > 3.4


@pytest.mark.parametrize("end", [0, -1])
def test_the_slope_is_right_exactly_on_the_end_knots(end: int) -> None:
    table = SmoothTable.through(x=(0.0, 1.0, 3.0), y=(0.0, 1.0, 4.0))
    line = SmoothTable(knots=(0.0,), values=(2.0,), slopes=(3.0,), curvatures=(0.0,))
    assert float(derivatives(table, 1)(table.knots[end])) == pytest.approx(table.slopes[end])
    assert float(derivatives(line, 1)(0.0)) == 3.0


def test_a_number_that_is_nan_stays_nan() -> None:
    assert np.isnan(SmoothTable.held(**HUMP)(float("nan")))


def test_the_integral_is_exact() -> None:
    table = SmoothTable.through(**HUMP)
    nodes, weights = np.polynomial.legendre.leggauss(3)  # exact to degree 5
    total = 0.0
    for a, b in zip(table.knots[:-1], table.knots[1:], strict=True):
        total += (b - a) / 2 * float(weights @ table((a + b) / 2 + (b - a) / 2 * nodes))
    assert table.integral() == pytest.approx(total, rel=1e-14)


def test_tables_on_the_same_knots_share_one_search() -> None:
    table, other = SmoothTable.through(**HUMP), SmoothTable.through(x=HUMP["x"], y=(1, 2, 3, 4, 5))
    x = ca.SX.sym("x")
    f = ca.Function("both", [x], evaluate(x, (table, other)))
    calls = [f.instruction_id(k) for k in range(f.n_instructions())].count(ca.OP_CALL)
    assert calls == 1
    assert [float(v) for v in f(1.7)] == pytest.approx([table(1.7), other(1.7)], rel=1e-13)


def test_it_is_hashable_comparable_and_picklable_after_use() -> None:
    table = SmoothTable.through(**HUMP)
    table(1.0)
    copy = pickle.loads(pickle.dumps(table))
    assert copy == table
    assert hash(copy) == hash(SmoothTable.through(**HUMP))


@pytest.mark.parametrize(
    ("x", "y", "text"),
    [
        ((0.0, 1.0, 1.0), (1.0, 2.0, 3.0), r"x\[2\] is 1.0; it must be above the value before"),
        ((0.0, float("nan")), (1.0, 2.0), r"x\[1\] is nan; it must be a finite number"),
        ((0.0, 1.0), (1.0, 2.0, 3.0), "x has 2, y has 3 values; they must be equally many"),
        ((0.0,), (1.0,), "x has 1 values; it must have at least 2"),
        (3.0, (1.0,), "x is 3.0; it must be a list of numbers"),
    ],
)
def test_bad_points_are_refused(x: Any, y: Any, text: str) -> None:
    with pytest.raises(InputError, match=text):
        SmoothTable.through(x=x, y=y)


def test_bent_ends_are_refused() -> None:
    with pytest.raises(InputError, match=r"curvatures end in 1.0 and 0.0; both must be 0.0"):
        SmoothTable(knots=(0, 1), values=(0, 1), slopes=(1, 1), curvatures=(1, 0))

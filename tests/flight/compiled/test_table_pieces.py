"""Tables on the way: pieces, knots, and the cubics that foretell when one is reached."""

from __future__ import annotations

from copy import copy
from math import inf, nan

import casadi as ca
import numpy as np
import pytest

from ascentopt.flight.compiled.table_pieces import Cubic, TablePieces, time_to_reach
from ascentopt.numerics.lifted import Lifted
from ascentopt.world.table import SmoothTable, evaluate

X = (0.0, 1.0, 1.3, 4.0)
CURVE = SmoothTable.through(x=X, y=(2.0, 1.0, 0.9, 0.1))


def course(table: SmoothTable) -> TablePieces:
    x = ca.SX.sym("x")
    lifted = Lifted.of(table(x))
    return TablePieces.of_lookup(lifted.lookups[0].picked[0][0])


def value(row: np.ndarray, at: float) -> float:
    local = (at - row[0]) * row[1]
    return float(np.polynomial.polynomial.polyval(local, row[2:]))


@pytest.mark.parametrize("at", [0.2, 0.999, 1.1, 1.29, 1.31, 3.9])
@pytest.mark.parametrize("slope", [-1.0, 1.0])
def test_the_piece_is_the_tables(at: float, slope: float) -> None:
    table = course(CURVE)
    table.select(at, slope)
    assert value(table.row, at) == pytest.approx(evaluate(at, (CURVE,))[0], abs=1e-6)


def test_a_knot_belongs_to_the_side_to_which_the_argument_goes() -> None:
    table = course(CURVE)
    table.select(1.0, 1.0)
    rising = table.row
    table.select(1.0, -1.0)
    assert rising[0] == 1.0
    assert table.row[0] == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("at", "down", "up"), [(-1.0, -inf, 0.0), (0.5, 0.0, 1.0), (2.0, 1.3, 4.0), (5.0, 4.0, inf)]
)
def test_the_next_knot(at: float, down: float, up: float) -> None:
    table = course(CURVE)
    table.select(at, 1.0)
    assert (table.next_knot(-1.0), table.next_knot(1.0)) == pytest.approx((down, up))


def test_it_says_which_knot_was_passed() -> None:
    table = course(CURVE)
    table.select(1.1, 1.0)
    assert table.knot_passed(1.2) is None
    assert table.holds(1.2)
    assert table.knot_passed(1.4) == pytest.approx(1.3)
    assert table.knot_passed(0.5) == pytest.approx(1.0)
    assert not table.holds(0.5)


def test_beyond_a_knot_where_it_began_the_other_piece_is_taken() -> None:
    table = course(CURVE)
    table.select(1.0, 0.0)
    assert not table.select_beyond(1.1, 1.0)
    assert table.select_beyond(1.0, 1.0)
    assert table.row[0] == pytest.approx(0.0)


def test_between_knots_that_count_as_one_the_curves_do_not_part() -> None:
    table = course(CURVE)
    for knot in X[1:-1]:
        table.select(knot, 1.0)
        slack = next(s for s in np.geomspace(1.0, 1e-9, 400) if table.holds(knot - s))
        after = value(table.row, knot - slack)
        assert slack > 1e-6
        assert after == pytest.approx(evaluate(knot - slack, (CURVE,))[0], abs=1e-6)


@pytest.mark.parametrize("y", [(0.0, 0.0), (0.0, 3.0)])
def test_a_table_of_one_piece_has_two_knots(y: tuple[float, float]) -> None:
    table = course(SmoothTable.held(x=(5.0, 9.0), y=y))
    table.select(7.0, 1.0)
    assert (table.next_knot(-1.0), table.next_knot(1.0)) == pytest.approx((5.0, 9.0))
    assert table.knot_passed(9.5) == pytest.approx(9.0)


def test_flights_share_a_table_but_not_their_places_in_it() -> None:
    one = course(CURVE)
    other = copy(one)
    one.select(0.5, 1.0)
    other.select(3.0, 1.0)
    assert one.next_knot(1.0) == pytest.approx(1.0)


def test_a_formula_with_corners() -> None:
    table = TablePieces.of_corners((10.0, 30.0), ((1.0, 0.0), (1.0, -0.1), (-1.0, 0.0)))
    table.select(20.0, 1.0)
    assert table.row.tolist() == [1.0, -0.1]
    assert table.knot_passed(30.1) == 30.0
    table.select(30.0, 1.0)
    assert table.row.tolist() == [-1.0, 0.0]
    table.select(30.0, -1.0)
    assert table.row.tolist() == [1.0, -0.1]
    alone = TablePieces.of_corners((5.0,), ((2.0,), (3.0,)))
    alone.select(7.0, 1.0)
    assert alone.row.tolist() == [3.0]


# Cubics.


def cubic(length: float = 2.0) -> Cubic:
    # 1 + 3 t - t^2 + t^3 / 2
    end, slope = 1 + 3 * length - length**2 + length**3 / 2, 3 - 2 * length + 1.5 * length**2
    return Cubic(1.0, 3.0, end, slope, length)


def test_a_cubic_goes_through_its_points() -> None:
    curve = cubic()
    assert curve(0.7) == pytest.approx(1 + 3 * 0.7 - 0.49 + 0.5 * 0.343)
    assert curve.from_begin() == pytest.approx((1.0, 3.0, -2.0, 3.0))
    assert curve.from_end() == pytest.approx((7.0, 5.0, 4.0, 3.0))


def test_when_it_is_reached() -> None:
    curve = cubic()
    assert time_to_reach(curve.from_begin(), curve(1.3)) == pytest.approx(1.3, abs=1e-9)
    assert time_to_reach(curve.from_end(), curve(2.4)) == pytest.approx(0.4, abs=1e-9)
    assert time_to_reach((0.0, 1.0, 0.0, 0.0), -1.0) == inf
    assert time_to_reach((0.0, 1.0, -1.0, 0.0), 2.0) == inf  # it turns back at 0.5


def test_where_it_turns_round() -> None:
    curve = Cubic(0.0, 1.0, 0.0, -1.0, 1.0)  # t - t^2
    assert curve.turning() == pytest.approx(0.5)
    assert curve.extreme() == pytest.approx(0.25)
    assert curve.greatest() == pytest.approx(0.25)
    assert Cubic(0.0, -1.0, 0.0, 1.0, 1.0).extreme() == pytest.approx(-0.25)
    assert cubic().turning() == 2.0
    assert cubic().extreme() == cubic().greatest() == 7.0


def test_without_slopes_it_is_a_straight_line() -> None:
    line = Cubic(1.0, nan, 3.0, 0.5, 4.0)
    assert line(1.0) == pytest.approx(1.5)
    assert line.extreme() == 3.0

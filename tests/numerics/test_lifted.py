"""Derivatives of expressions with lookups in them."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest

from ascentopt.numerics.lifted import Lifted
from ascentopt.typing import Expr

COLUMNS = np.array([[1.0, -2.0, 0.5, 3.0], [0.3, 0.7, -1.1, 2.0]])
BORDERS = (0.0, 1.0, 2.0)
VARIABLE = ca.SX.sym("variable", 3)
WEIGHT = ca.SX.sym("weight", 2)


def picker() -> ca.Function:
    """Make x -> the column of the interval between the borders that holds it."""
    x = ca.MX.sym("x")
    index = ca.low(ca.DM([-np.inf, *BORDERS, np.inf]), x)
    return ca.Function(
        "picker", [x], [ca.MX(ca.DM(COLUMNS))[:, index] + 1e-300 * x], {"never_inline": True}
    )


def column(pick: ca.Function) -> Expr:
    """Two values that hold a lookup, and another whose argument depends on the first."""
    x, y, z = (VARIABLE[k] for k in range(3))
    first = x * y + ca.sin(z)
    a = pick(first)
    curve = a[0] + a[1] * first**2
    second = curve * x - y
    b = pick(second)
    shape = b[0] * second + b[1] * ca.exp(second / 3)
    return ca.vertcat(shape * z + curve, shape**2 * x + y * first)


def derivatives(value: Expr, jacobian: Expr, hessian: Expr) -> ca.Function:
    """All three as numbers."""
    return ca.Function("all", [VARIABLE, WEIGHT], [value, ca.densify(jacobian), hessian])


def plain(point: tuple[float, ...]) -> ca.Function:
    """The same expression with the numbers that the lookups pick at the point written in."""
    taken = []

    def pick(argument: Expr) -> Expr:
        value = float(ca.Function("argument", [VARIABLE], [argument])(ca.DM(point)))
        taken.append(int(np.searchsorted(BORDERS, value, side="right")))
        return ca.DM(COLUMNS[:, taken[-1]])

    value = column(pick)  # type: ignore[arg-type]
    hessian = ca.hessian(ca.dot(WEIGHT, value), VARIABLE)[0]
    return derivatives(value, ca.jacobian(value, VARIABLE), hessian)


@pytest.mark.parametrize(
    "point", [(0.5, 0.9, 0.2), (-1.2, 0.7, 2.0), (1.3, 1.1, 0.4), (2.0, -0.4, 1.5)]
)
def test_the_derivatives_are_those_with_the_picked_numbers_written_in(
    point: tuple[float, ...],
) -> None:
    lifted = Lifted.of(column(picker()))
    mine = derivatives(
        column(picker()), lifted.jacobian(VARIABLE), lifted.hessian(WEIGHT, VARIABLE)
    )
    pairs = zip(mine(point, [0.7, -1.9]), plain(point)(point, [0.7, -1.9]), strict=True)
    for found, expected in pairs:
        assert found.full() == pytest.approx(expected.full(), rel=1e-12, abs=1e-12)


def test_lookups_of_one_argument_share_a_symbol() -> None:
    x, pick = VARIABLE[0] * VARIABLE[1], picker()
    lifted = Lifted.of(ca.vertcat(pick(x)[0] * x, pick(x)[1], pick(x + 1)[0]))
    assert len(lifted.lookups) == 2


def test_without_lookups_nothing_changes() -> None:
    value = ca.vertcat(VARIABLE[0] ** 2, ca.sin(VARIABLE[1]) * VARIABLE[2])
    lifted = Lifted.of(value)
    assert not lifted.lookups
    assert str(lifted.jacobian(VARIABLE)) == str(ca.jacobian(value, VARIABLE))

"""A control that jumps stays within its bounds between the nodes, too.

Rest to rest over a unit length in the least time, with -1 <= u <= 2: x' = v, v' = u. By hand: full
thrust for t1 = 1/sqrt(3), then full brakes for twice as long; the switch is at a third of the time.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from ascentopt.collocation import Model, Point, RadauMesh, Refinement, Solution, refine, solve
from ascentopt.collocation.nlp.naming import row_name
from ascentopt.collocation.nlp.program import build
from ascentopt.errors import InputError
from ascentopt.typing import Expr
from tests.collocation.dash import dash, start
from tests.collocation.problems import quantities

LEAST = sqrt(3.0)
FINE = np.linspace(0.0, 1.0, 5001)


def rates(point: Point) -> list[Expr]:
    return [point.state[1], point.control]


def model(jumping: tuple[int, ...]) -> Model:
    return Model(
        name="dash",
        states=quantities("x", "v"),
        controls=quantities("u"),
        rates=rates,
        may_jump=jumping,
    )


JUMPING, SMOOTH = model((0,)), model(())


def refined(kind: Model) -> Solution:
    coarse = dash(kind, RadauMesh.uniform(intervals=4, degree=5))
    return refine(coarse, start(coarse), Refinement(tolerance=1e-6))


def test_a_polynomial_through_a_jump_overshoots() -> None:
    control = refined(SMOOTH).arcs[0].control_at(FINE)
    assert control.max() > 2.1 or control.min() < -1.1


def test_a_straight_control_does_not() -> None:
    solution = refined(JUMPING)
    control = solution.arcs[0].control_at(FINE)
    assert -1.003 < control.min() < -0.999
    assert 1.999 < control.max() < 2.003
    assert any(solution.arcs[0].arc.mesh.straight)


def test_what_is_left_of_the_jump_is_a_short_ramp_that_costs_little() -> None:
    solution = refined(JUMPING)
    control = solution.arcs[0].control_at(FINE)[:, 0]
    between = (control > -0.99) & (control < 1.99)
    assert between.mean() < 0.02
    # Every such control could be flown, so none is faster than the best.
    assert LEAST - 1e-7 < solution.objective < LEAST + 1e-3


@pytest.mark.parametrize("marked", [True, False])
def test_a_marked_interval_is_straight_and_no_other(*, marked: bool) -> None:
    straight = (False, marked, False)
    mesh = RadauMesh(breaks=(0.0, 0.3, 0.4, 1.0), degrees=(5, 5, 5), straight=straight)
    of = dash(JUMPING, mesh)
    inside = solve(of, start(of)).arcs[0].control_at(np.linspace(0.301, 0.399, 21))[:, 0]
    assert (np.abs(np.diff(inside, 2)).max() < 1e-7) == marked


def test_the_optimality_conditions_hold_with_the_rows_of_the_ramps() -> None:
    residuals = refined(JUMPING).residuals
    assert max(residuals.primal, residuals.dual, residuals.complementarity) < 1e-6


def test_a_row_of_a_ramp_has_a_name() -> None:
    mesh = RadauMesh(breaks=(0.0, 0.3, 1.0), degrees=(3, 3), straight=(True, False))
    of = dash(JUMPING, mesh)
    layout = build(of.structure()).layout
    assert layout.rows - layout.first_ramp_row == 2
    names = [row_name(of, layout, layout.rows - k) for k in (2, 1)]
    assert all(name.startswith("straightness of u in arc 'dash'") for name in names)


def test_marks_must_be_one_for_each_interval() -> None:
    with pytest.raises(InputError, match="straight has 1 entries for 2 intervals"):
        RadauMesh(breaks=(0.0, 0.5, 1.0), degrees=(3, 3), straight=(True,))

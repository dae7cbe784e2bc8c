"""First-order changes of an optimum against solving again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ascentopt.collocation import (
    Bounds,
    Condition,
    Envelope,
    Problem,
    Quantity,
    RadauMesh,
    remeshed,
)
from ascentopt.collocation.nlp.program import build
from tests.collocation.problems import FinalEntry, starts_at
from tests.collocation.solver.test_sensitivity import STATES, Numbers, optimum, problem


def with_start(of: Problem, height: float) -> Problem:
    return replace(of, conditions=(starts_at(STATES, (height, 0.0, 0.0)), *of.conditions[1:]))


@pytest.mark.parametrize("name", ["acceleration", "gravity", "height", "speed", "weight"])
def test_change_of_a_number(name: str) -> None:
    value = getattr(Numbers(), name)
    step = 1e-4 * value
    more = replace(Numbers(), **{name: value + step})
    less = replace(Numbers(), **{name: value - step})
    difference = (optimum(more).objective - optimum(less).objective) / 2.0
    change = Envelope.of(optimum(Numbers())).change(problem(more))
    assert change == pytest.approx(difference, rel=1e-3)


def test_a_bound_that_moves_counts_like_the_number_it_stands_for() -> None:
    """A start 1 mm higher is a target 1 mm lower."""
    envelope = Envelope.of(optimum(Numbers()))
    raised = envelope.change(with_start(problem(Numbers()), 1e-3))
    lowered = envelope.change(problem(replace(Numbers(), height=5.0 - 1e-3)))
    assert raised == pytest.approx(lowered, rel=1e-6)


def test_no_change_costs_nothing_and_scales_do_not_matter() -> None:
    envelope = Envelope.of(optimum(Numbers()))
    assert envelope.change(problem(Numbers())) == 0.0
    more = problem(replace(Numbers(), height=5.001))
    scaled = replace(more, arcs=(replace(more.arcs[0], state_scales=(7.0, 3.0, 0.1)),))
    assert envelope.change(scaled) == pytest.approx(envelope.change(more), rel=1e-9)


def test_another_structure_is_no_small_change() -> None:
    envelope, of = Envelope.of(optimum(Numbers())), problem(Numbers())
    extra = Condition(
        quantities=(Quantity("height"),),
        expression=of.conditions[0].expression,
        bounds=Bounds.fixed((0.0,)),
    )
    assert envelope.change(remeshed(of, (RadauMesh.uniform(intervals=2, degree=3),))) is None
    assert envelope.change(replace(of, conditions=(*of.conditions, extra))) is None
    assert envelope.change(replace(of, arcs=(replace(of.arcs[0], name="other"),))) is None


def test_a_price_wants_values_and_no_derivatives() -> None:
    """A changed expression makes another program, of which the values are all that is needed."""
    objective = replace(problem(Numbers()).objective, expression=FinalEntry(1))
    changed = replace(problem(Numbers()), objective=objective)
    assert Envelope.of(optimum(Numbers())).change(changed) is not None
    made = vars(build(changed.structure()))
    assert "values" in made
    assert not {"gradient", "jacobian", "hessian"} & set(made)

"""Answers do not depend on the sizes that the author of a problem chose."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ascentopt.collocation import RadauMesh, Solution, SolverSettings, solve
from tests.collocation import speed_limited
from tests.collocation.speed_limited import Scales
from tests.collocation.steering import MOON

TIGHT = SolverSettings(tolerance=1e-11)
powers = st.sampled_from([0.01, 0.1, 1.0, 10.0, 100.0])
few = settings(max_examples=12)


def run(scales: Scales) -> Solution:
    problem = speed_limited.problem(scales)
    return solve(problem, speed_limited.guess(problem), TIGHT)


@few
@given(
    st.builds(
        Scales,
        x=powers,
        v=powers,
        w=powers,
        u=powers,
        limit=powers,
        time=powers,
        conditions=powers,
        objective=powers,
    )
)
def test_a_problem_with_a_path_limit(scales: Scales) -> None:
    reference, solution = run(Scales()), run(scales)
    # The tolerance is a scaled one, so that its trace in the answer goes with the scales: measured
    # over 40 random ones 2e-8 of the cost, 8e-6 of states and 1.3e-4 of multipliers of size 38.
    # Beside the ends of the limit these are off by the root of the barrier (`test_multipliers.py`).
    assert solution.objective == pytest.approx(reference.objective, abs=1e-7)
    one, other = reference.arcs[0], solution.arcs[0]
    assert other.states == pytest.approx(one.states, abs=3e-5)
    assert other.costates == pytest.approx(one.costates, abs=5e-4)
    assert solution.condition_multipliers == pytest.approx(
        reference.condition_multipliers, abs=5e-4
    )
    price = [arc.arc.mesh.weights() @ arc.path_multipliers[:, 0] for arc in (one, other)]
    assert price[1] == pytest.approx(price[0], abs=5e-4)


@few
@example(sizes=(1.0, 10.0, 1.0), condition=0.1)
@given(sizes=st.tuples(powers, powers, powers), condition=powers)
def test_a_nonlinear_problem_in_large_units(
    sizes: tuple[float, float, float], condition: float
) -> None:
    # Factors of a hundred either way on sizes of 1e5 m, 1e3 m/s and 1e2 s.
    reference, solution = climb((1.0, 1.0, 1.0), 1.0), climb(sizes, condition)
    assert solution.objective == pytest.approx(reference.objective, rel=1e-9)
    one, other = reference.arcs[0], solution.arcs[0]
    span = np.array([1e5, 1e5, 1e3, 1e3])
    assert other.states / span == pytest.approx(one.states / span, abs=1e-7)
    assert other.costates * span == pytest.approx(one.costates * span, rel=1e-6, abs=1e-6)
    assert solution.condition_multipliers == pytest.approx(
        reference.condition_multipliers, rel=1e-6, abs=1e-9
    )


def climb(sizes: tuple[float, float, float], condition: float) -> Solution:
    """The flat-Moon climb with its sizes multiplied; the guess stays the same."""
    own = tuple(a * b for a, b in zip(MOON.sizes, sizes, strict=True))
    case = replace(MOON, sizes=(own[0], own[1], own[2]))
    problem = case.problem(case.model(), RadauMesh.uniform(intervals=4, degree=6))
    sized = tuple(
        replace(c, quantities=tuple(replace(q, scale=q.scale * condition) for q in c.quantities))
        for c in problem.conditions
    )
    arc = replace(problem.arcs[0], duration=(1.0, 1000.0))
    return solve(
        replace(problem, conditions=sized, arcs=(arc,)),
        MOON.guess(problem),
        TIGHT,
    )

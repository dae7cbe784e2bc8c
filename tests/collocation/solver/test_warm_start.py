"""A solution as the start of the next solve: on its mesh, on another, and of a neighbour."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from ascentopt.collocation import (
    Bounds,
    Condition,
    Ends,
    Problem,
    Quantity,
    RadauMesh,
    Solution,
    remeshed,
    solve,
)
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import dual_vectors
from ascentopt.errors import InputError
from ascentopt.typing import Expr
from tests.collocation import speed_limited
from tests.collocation.goddard import NORMALISED, climb, coast, full_thrust, singular
from tests.collocation.mixed import PROBLEM as MIXED
from tests.collocation.problems import straight_line
from tests.collocation.steering import MOON

MODEL = MOON.model()


def moon(intervals: int = 4, degree: int = 6) -> Problem:
    return MOON.problem(MODEL, RadauMesh.uniform(intervals=intervals, degree=degree))


def cold(problem: Problem) -> Solution:
    return solve(problem, MOON.guess(problem))


def test_same_mesh_returns_the_same_answer_at_once() -> None:
    first = cold(moon())
    again = solve(moon(), first)
    assert again.objective == pytest.approx(first.objective, rel=1e-9)
    assert again.arcs[0].states == pytest.approx(first.arcs[0].states, rel=1e-6, abs=1e-3)
    assert again.iterations < first.iterations


@pytest.mark.parametrize(("intervals", "degree"), [(7, 6), (4, 9), (3, 4)])
def test_another_mesh_reaches_the_answer_of_a_cold_start(intervals: int, degree: int) -> None:
    target = moon(intervals, degree)
    expected = cold(target)
    warm = solve(target, cold(moon()))
    assert warm.objective == pytest.approx(expected.objective, rel=1e-9)
    assert warm.condition_multipliers == pytest.approx(
        expected.condition_multipliers, rel=1e-5, abs=1e-8
    )
    assert warm.iterations < expected.iterations


def test_a_neighbouring_target_is_reached() -> None:
    start, target = moon().conditions
    higher = replace(target, bounds=Bounds.fixed((190e3, 1640.0, 0.0)))
    problem = replace(moon(), conditions=(start, higher))
    expected, warm = cold(problem), solve(problem, cold(moon()))
    assert warm.objective == pytest.approx(expected.objective, rel=1e-9)
    assert warm.iterations < expected.iterations


def test_trajectories_alone_are_a_near_guess_for_the_neighbouring_target() -> None:
    start, target = moon().conditions
    higher = replace(target, bounds=Bounds.fixed((190e3, 1640.0, 0.0)))
    problem = replace(moon(), conditions=(start, higher))
    near = cold(moon()).as_guess()
    assert near.near
    assert solve(problem, near).objective == pytest.approx(cold(problem).objective, rel=1e-9)


def test_an_active_limit_stays_active_and_a_moved_one_is_found() -> None:
    first = solve(speed_limited.problem(), speed_limited.guess(speed_limited.problem()))
    for limit in (1.2, 1.25, 1.15):
        problem = speed_limited.problem(limit=limit)
        expected = solve(problem, speed_limited.guess(problem))
        warm = solve(problem, first)
        assert warm.objective == pytest.approx(expected.objective, rel=1e-6)


@dataclass(frozen=True)
class OnTheSurface:
    """The first arc ends where the second may begin to hold its speed against drag and weight."""

    def __call__(self, ends: Ends) -> Expr:
        return NORMALISED.surface(ends.end[0])


@pytest.mark.parametrize(("intervals", "degree"), [(5, 9), (6, 9), (5, 8), (4, 9)])
def test_three_arcs_with_free_switches_on_finer_meshes(intervals: int, degree: int) -> None:
    """The surface is asked for: the height alone hardly tells where the second arc should begin.

    Its second variation with that switch all but vanishes: rounding would decide the first step.
    """
    models = (full_thrust(NORMALISED), singular(NORMALISED), coast(NORMALISED))
    problem = climb(NORMALISED, models, ({}, {}, {2: 0.6}), (1.0, 0.0, 1.0), 0.3)
    surface = Condition(
        quantities=(Quantity("surface"),), expression=OnTheSurface(), bounds=Bounds.fixed((0.0,))
    )
    problem = replace(problem, conditions=(*problem.conditions, surface))
    states = [[1.0, 0.0, 1.0], [1.0005, 0.07, 0.8], [1.005, 0.1, 0.6], [1.0128, 0.0, 0.6]]
    first = solve(problem, straight_line(problem, [0.0, 0.03, 0.08, 0.2], states, [[], [], []]))
    mesh = RadauMesh.uniform(intervals=intervals, degree=degree)
    warm = solve(remeshed(problem, (mesh,) * len(models)), first)
    assert warm.objective == pytest.approx(1.01283691832, abs=1e-9)
    assert warm.iterations <= first.iterations


def test_multipliers_mapped_to_their_own_mesh_are_unchanged() -> None:
    first = cold(moon())
    layout = build(first.problem.structure()).layout
    rows, variables = dual_vectors(first.problem, layout, first.duals)
    assert rows == pytest.approx(first.raw.lam_g, rel=1e-13, abs=1e-16)
    assert variables == pytest.approx(first.raw.lam_x, rel=1e-13, abs=1e-16)


def test_a_start_of_another_problem_is_refused() -> None:
    with pytest.raises(InputError, match=r"Start: 1 arcs; the problem has 3\. Give one for each\."):
        solve(MIXED, cold(moon()))

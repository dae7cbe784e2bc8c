"""What is measured between the nodes, and how a mesh is made better."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import nan

import casadi as ca
import numpy as np
import pytest

from ascentopt.collocation import (
    Accuracy,
    Arc,
    ArcSolution,
    Bounds,
    Model,
    NotConverged,
    Objective,
    Outcome,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    remeshed,
    solve,
)
from ascentopt.collocation.refinement.refinement import (
    continuous_errors,
    finer,
    path_drift,
    path_excess,
)
from ascentopt.typing import Expr
from tests.collocation import regulator, speed_limited
from tests.collocation.problems import (
    FinalEntry,
    LastInstant,
    ends_at,
    joined,
    quantities,
    starts_at,
    straight_line,
)
from tests.collocation.steering import COPS


def jump_rates(point: Point) -> Expr:
    return ca.if_else(point.time < 1.0 / 3.0, 0.0, 1.0)


JUMP = Model(name="jump", states=quantities("x"), rates=jump_rates)


def jump(mesh: RadauMesh) -> Problem:
    return Problem(
        arcs=(Arc(name="jump", model=JUMP, mesh=mesh, duration=(1.0, 1.0)),),
        conditions=(starts_at(JUMP.states, (0.0,)),),
        objective=Objective(quantity=Quantity("x"), expression=FinalEntry(0)),
    )


def jump_start(of: Problem) -> Solution:
    return solve(of, straight_line(of, [0.0, 1.0], [[0.0], [1.0]], [[]]))


def test_the_error_sits_in_the_interval_with_the_jump() -> None:
    errors = continuous_errors(jump_start(jump(RadauMesh.uniform(intervals=4, degree=3))).arcs[0])
    assert int(np.argmax(errors)) == 1
    assert np.delete(errors, 1).max() < 1e-14
    assert errors[1] > 1e-3


def test_errors_are_measured_once_for_a_solution_and_nobody_changes_them() -> None:
    arc = jump_start(jump(RadauMesh.uniform(intervals=4, degree=3))).arcs[0]
    errors = continuous_errors(arc)
    assert continuous_errors(arc) is errors
    with pytest.raises(ValueError, match="read-only"):
        errors[0] = 0.0


def test_an_interval_that_cannot_be_made_smooth_is_cut_not_raised() -> None:
    arc = jump_start(jump(RadauMesh.uniform(intervals=4, degree=8))).arcs[0]
    mesh = finer(arc, Refinement(tolerance=1e-6, highest_degree=8))
    assert mesh.degrees.count(8) == len(mesh.degrees) > 4
    assert set(arc.arc.mesh.breaks) < set(mesh.breaks)
    inserted = sorted(set(mesh.breaks) - set(arc.arc.mesh.breaks))
    assert all(0.25 < fraction < 0.5 for fraction in inserted)


def test_refinement_that_runs_out_of_rounds_says_what_is_left() -> None:
    problem = jump(RadauMesh.uniform(intervals=4, degree=3))
    start = straight_line(problem, [0.0, 1.0], [[0.0], [1.0]], [[]])
    with pytest.raises(NotConverged) as caught:
        refine(problem, start, Refinement(tolerance=1e-9, rounds=2))
    assert caught.value.solution.outcome is Outcome.COARSE
    assert not caught.value.solution.solved
    assert "between them the error is above the tolerance" in str(caught.value)
    error = Accuracy.of(caught.value.solution).error
    assert f"Continuous error {error:.2e}" in str(caught.value)


def test_a_mesh_that_is_good_enough_is_kept() -> None:
    problem = regulator.problem(RadauMesh.uniform(intervals=4, degree=6))
    solution = refine(problem, regulator.guess(problem), Refinement(tolerance=1e-6))
    assert solution.problem is problem


def test_a_smooth_interval_gets_more_points() -> None:
    problem = regulator.problem(RadauMesh.uniform(intervals=2, degree=2))
    solution = refine(problem, regulator.guess(problem), Refinement(tolerance=1e-8))
    mesh = solution.arcs[0].arc.mesh
    assert mesh.breaks == (0.0, 0.5, 1.0)
    assert Accuracy.of(solution).error < 1e-8
    assert solution.objective == pytest.approx(regulator.COST, abs=1e-9)


def misled(problem: Problem) -> Solution:
    """A solution of the regulator with multipliers that are no numbers."""
    solution = solve(problem, regulator.guess(problem))
    arcs = tuple(replace(own, rows=nan * own.rows) for own in solution.duals.arcs)
    return replace(solution, duals=replace(solution.duals, arcs=arcs))


def test_a_finer_mesh_that_multipliers_mislead_is_solved_without() -> None:
    problem = regulator.problem(RadauMesh.uniform(intervals=2, degree=2))
    start = misled(problem)
    with pytest.raises(NotConverged):
        solve(remeshed(problem, (RadauMesh.uniform(intervals=2, degree=4),)), start)
    solution = refine(problem, start, Refinement(tolerance=1e-8))
    assert solution.objective == pytest.approx(regulator.COST, abs=1e-9)


def test_a_solve_whose_time_is_up_is_not_tried_again() -> None:
    """It is left where it began, with the multipliers of the coarser mesh."""
    problem = COPS.problem(COPS.model(), RadauMesh.uniform(intervals=3, degree=3))
    coarse = solve(problem, COPS.guess(problem))
    with pytest.raises(NotConverged) as caught:
        refine(problem, coarse, Refinement(tolerance=1e-8), SolverSettings(time_limit=1e-9))
    assert caught.value.solved is coarse
    left = caught.value.solution
    assert left.outcome is Outcome.TIME
    constant = coarse.arcs[0].costates[-1, 1]  # that of the height, by the closed form
    assert left.arcs[0].costates[:, 1] == pytest.approx(constant, rel=1e-9)
    with pytest.raises(NotConverged) as again:
        solve(left.problem, coarse.as_guess(), SolverSettings(time_limit=1e-9))
    assert again.value.solution.arcs[0].costates[:, 1] != pytest.approx(constant, rel=1e-4)


def test_the_barrier_rises_for_the_first_finer_mesh_alone() -> None:
    """Each mesh takes the iterations that it takes by hand, and the second fewer for it."""
    problem, settings = speed_limited.problem(), SolverSettings()
    coarse, rule = solve(problem, speed_limited.guess(problem)), Refinement(tolerance=1e-8)
    with pytest.raises(NotConverged) as caught:
        refine(problem, coarse, replace(rule, rounds=1))
    first, second = caught.value.solved, refine(problem, coarse, replace(rule, rounds=2))
    assert first is not None
    assert first.iterations == solve(first.problem, coarse, settings).iterations
    assert second.iterations == solve(second.problem, first, settings.settled).iterations
    assert second.iterations < solve(second.problem, first, settings).iterations


def test_an_excess_over_a_limit_between_the_nodes_is_seen_and_refined_away() -> None:
    # The limit begins at 1/4 and ends at 3/4, inside intervals of this mesh.
    problem = remeshed(
        speed_limited.problem(), (RadauMesh(breaks=(0.0, 0.35, 0.6, 1.0), degrees=(4, 4, 4)),)
    )
    start = speed_limited.guess(problem)
    coarse = solve(problem, start)
    excess = path_excess(coarse.arcs[0])
    assert excess.max() > 1e-3
    assert Accuracy.of(coarse).excess == excess.max()
    # By hand, from the interpolated speed on a fine grid.
    speed = coarse.arcs[0].state_at(np.linspace(0.0, 1.0, 2001))[:, 1].max()
    assert excess.max() == pytest.approx(speed - speed_limited.LIMIT, rel=0.2)
    fine = refine(problem, start, Refinement(tolerance=1e-5, path_tolerance=1e-4))
    assert Accuracy.of(fine).excess < 1e-4
    assert fine.objective == pytest.approx(speed_limited.COST, abs=1e-4)


def unit_rates(point: Point) -> list[Expr]:
    thrust, speed = point.control, point.state[1:]
    return [speed[1], 100.0 * thrust[0], 100.0 * thrust[1]]


def unit_length(point: Point) -> list[Expr]:
    return [point.control[0] ** 2 + point.control[1] ** 2]


DIRECTED = Model(
    name="directed",
    states=quantities("y", "vx", "vy"),
    controls=quantities("c", "s"),
    rates=unit_rates,
    path=quantities("length2"),
    path_values=unit_length,
)


def test_an_equality_along_the_path_counts_no_excess() -> None:
    # The linear-tangent climb with a thrust direction of two components and unit length: between
    # the nodes the length strays, which is left to the continuous error of the states.
    mesh = RadauMesh.uniform(intervals=2, degree=4)
    arc = Arc(
        name="climb",
        model=DIRECTED,
        mesh=mesh,
        duration=(0.01, 10.0),
        path_bounds=Bounds.fixed((1.0,)),
    )
    problem = Problem(
        arcs=(arc,),
        conditions=(
            starts_at(DIRECTED.states, (0.0, 0.0, 0.0)),
            ends_at(DIRECTED.states, 0, {0: 5.0, 1: 45.0, 2: 0.0}),
        ),
        objective=Objective(quantity=Quantity("time"), expression=LastInstant()),
    )
    states = [[0.0, 0.0, 0.0], [5.0, 45.0, 0.0]]
    solved = solve(problem, straight_line(problem, [0.0, 0.6], states, [[0.9, 0.4]])).arcs[0]
    length = solved.model_at(np.linspace(0.0, 1.0, 51))[1]
    assert np.abs(length - 1.0).max() > 1e-4
    assert path_excess(solved).tolist() == [0.0, 0.0]


def test_an_arc_that_shrinks_to_nothing_is_measured_without_a_division_by_zero() -> None:
    # Both arcs do the same; the first may vanish and a cost on its end makes it.
    mesh = RadauMesh.uniform(intervals=2, degree=3)
    whole = jump(mesh)
    arcs = tuple(
        replace(whole.arcs[0], name=name, duration=bounds)
        for name, bounds in (("first", (0.0, 0.0)), ("second", (1.0, 1.0)))
    )
    problem = replace(whole, arcs=arcs, conditions=(*whole.conditions, joined(JUMP.states, 0)))
    start = straight_line(problem, [0.0, 0.0, 1.0], [[0.0], [0.0], [1.0]], [[], []])
    solution = solve(problem, start)
    assert solution.arcs[0].duration == 0.0
    assert continuous_errors(solution.arcs[0]) == pytest.approx([0.0, 0.0], abs=1e-14)


@pytest.mark.parametrize("bounds", [None, Bounds.free(1)])
def test_no_limit_means_no_excess(bounds: Bounds | None) -> None:
    problem = speed_limited.problem()
    problem = replace(problem, arcs=(replace(problem.arcs[0], path_bounds=bounds),))
    arc = solve(problem, speed_limited.guess(problem)).arcs[0]
    assert path_excess(arc).max() == 0.0
    assert arc.states[:, 1].max() == pytest.approx(1.5, abs=1e-7)


def still(point: Point) -> list[Expr]:
    return [0.0 * point.state[0]]


def first_control(point: Point) -> list[Expr]:
    return [point.control[0], ca.sumsqr(point.control)]


POINTED = Model(
    name="pointed",
    states=quantities("x"),
    controls=quantities("u", "v"),
    rates=still,
    path=quantities("u", "squared length"),
    path_values=first_control,
)


def pointed(controls: Callable[[np.ndarray], np.ndarray]) -> ArcSolution:
    """An arc of two intervals of degree 4 with these controls at its nodes; u at most 1."""
    mesh = RadauMesh.uniform(intervals=2, degree=4)
    bounds = Bounds(lower=(-np.inf, 1.0), upper=(1.0, 1.0))
    arc = Arc(name="pointed", model=POINTED, mesh=mesh, duration=(1.0, 1.0), path_bounds=bounds)
    nodes = mesh.fractions()
    return ArcSolution(
        arc=arc,
        times=np.concatenate(([0.0], nodes)),
        variables=np.zeros((9, 1)),
        controls=controls(nodes),
        variable_costates=np.zeros((9, 1)),
        path=np.zeros((8, 2)),
        path_multipliers=np.zeros((8, 2)),
    )


def test_an_excess_at_the_very_start_of_an_interval_is_seen() -> None:
    """Beyond the bound until 0.01, where there is neither a node nor a point between two."""
    arc = pointed(lambda at: np.column_stack((1.0 + 10.0 * (0.01 - at), at)))
    assert path_excess(arc) == pytest.approx([0.1, 0.0])


def test_what_a_model_is_lenient_with_may_be_exceeded_between_the_nodes() -> None:
    arc = pointed(lambda at: np.column_stack((1.0 + 10.0 * (0.01 - at), at)))
    lenient = replace(arc.arc, model=replace(POINTED, nodes_only=(0,)))
    assert path_excess(replace(arc, arc=lenient)).tolist() == [0.0, 0.0]


def turned(angle: np.ndarray) -> np.ndarray:
    return np.column_stack((np.cos(angle), np.sin(angle)))


def test_a_unit_vector_drifts_off_its_length_where_it_jumps_and_hardly_where_it_turns() -> None:
    smooth = path_drift(pointed(lambda at: turned(0.3 * at)))
    assert smooth.max() < 1e-4
    jumping = path_drift(pointed(lambda at: turned(0.3 * (at > 0.2))))
    assert jumping[0] > 1e-2
    assert jumping[1] < 1e-12

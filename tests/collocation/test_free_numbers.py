"""Free numbers in the equations and in the limits along the way: closed forms and re-solving."""

from __future__ import annotations

from dataclasses import replace

import casadi as ca
import numpy as np
import pytest

from ascentopt.collocation import (
    Accuracy,
    Bounds,
    Envelope,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    solve,
)
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.refinement.refinement import path_excess
from ascentopt.errors import InputError
from ascentopt.typing import Expr
from tests.collocation import least_peak, power_limited, speed_limited
from tests.collocation.power_limited import DISTANCE, GAMMA, MASS, PAYLOAD, PLANT, SPECIFIC_MASS

TIGHT = SolverSettings(tolerance=1e-10)


def greatest(problem: Problem) -> Solution:
    return solve(problem, power_limited.guess(problem), TIGHT)


def least(problem: Problem) -> Solution:
    return solve(problem, least_peak.guess(problem), TIGHT)


@pytest.mark.parametrize("arcs", [1, 2, 3])
@pytest.mark.parametrize("scale", [1.0, 100.0, 3e4])
def test_the_best_power_plant_is_that_of_the_closed_form(arcs: int, scale: float) -> None:
    solution = greatest(power_limited.problem(arcs=arcs, scale=scale))
    assert solution.objective == pytest.approx(PAYLOAD, rel=1e-8)
    assert solution.free == pytest.approx([0.5, PLANT], rel=1e-5)
    slope = -2.0 * MASS * GAMMA * (1.0 - GAMMA) / DISTANCE
    assert solution.condition_multipliers[-3] == pytest.approx(slope, rel=1e-6)
    assert solution.arcs[0].costates[0, 2] == pytest.approx(-((1.0 - GAMMA) ** 2), rel=1e-6)
    assert solution.free_multipliers == pytest.approx([0.0, 0.0], abs=1e-7)


def test_the_bound_of_a_free_number_has_the_gain_from_a_wider_one_for_its_multiplier() -> None:
    small = 100.0
    solution = greatest(power_limited.problem(largest=small))
    heavy = GAMMA**2 * MASS
    assert solution.free[1] == pytest.approx(small, rel=1e-8)
    assert solution.objective == pytest.approx(MASS * small / (small + heavy) - small, rel=1e-7)
    gain = heavy * MASS / (small + heavy) ** 2 - 1.0
    assert solution.free_multipliers[1] == pytest.approx(gain, rel=1e-5)
    wider = greatest(power_limited.problem(largest=small + 1.0))
    assert wider.objective - solution.objective == pytest.approx(gain, rel=0.02)


def test_rates_between_the_nodes_are_those_with_the_free_numbers() -> None:
    arc = greatest(power_limited.problem()).arcs[0]
    assert arc.free == pytest.approx([PLANT], rel=1e-5)
    at = np.linspace(0.0, 1.0, 7)
    mass, thrust = arc.state_at(at)[:, 2], arc.control_at(at)[:, 0]
    burned = SPECIFIC_MASS * mass**2 * thrust**2 / (2.0 * PLANT)
    assert arc.rates_at(at)[:, 2] == pytest.approx(-burned, rel=1e-5)


def test_meshes_are_refined_until_the_equations_hold_between_the_nodes() -> None:
    coarse = power_limited.problem(RadauMesh.uniform(intervals=1, degree=3))
    start = power_limited.guess(coarse)
    first = solve(coarse, start, TIGHT)
    assert Accuracy.of(first).error > 1e-5
    fine = refine(coarse, start, Refinement(tolerance=1e-8), TIGHT)
    assert Accuracy.of(fine).error < 1e-8
    assert fine.objective == pytest.approx(PAYLOAD, rel=1e-8)


@pytest.mark.parametrize(("intervals", "degree"), [(2, 5), (5, 4), (1, 8)])
def test_a_solution_starts_the_program_on_another_mesh(intervals: int, degree: int) -> None:
    mesh = RadauMesh.uniform(intervals=intervals, degree=degree)
    problem = power_limited.problem(mesh)
    cold, warm = greatest(problem), solve(problem, greatest(power_limited.problem()), TIGHT)
    assert warm.objective == pytest.approx(cold.objective, rel=1e-9)
    assert warm.iterations < cold.iterations


def test_first_order_changes_are_those_of_the_closed_form() -> None:
    envelope, step = Envelope.of(greatest(power_limited.problem())), 1e-6
    dearer = power_limited.problem(specific_mass=(1.0 + step) * SPECIFIC_MASS)
    assert envelope.change(dearer) == pytest.approx(-step * MASS * GAMMA * (1.0 - GAMMA), rel=1e-5)
    heavier = power_limited.problem(mass=(1.0 + step) * MASS)
    assert envelope.change(heavier) == pytest.approx(step * PAYLOAD, rel=1e-5)


def test_the_least_peak_of_a_path_quantity_is_that_of_the_closed_form() -> None:
    solution = least(least_peak.problem())
    arc = solution.arcs[0]
    assert solution.objective == pytest.approx(least_peak.PEAK, abs=1e-8)
    assert solution.free == pytest.approx([least_peak.PEAK], abs=1e-8)
    assert arc.path.max() == pytest.approx(0.0, abs=1e-8)
    middle = (arc.times[1:] > 0.251) & (arc.times[1:] < 0.749)
    assert arc.path_multipliers[middle, 0] == pytest.approx(least_peak.DENSITY, rel=1e-4)
    assert arc.costates[0] == pytest.approx([-2.0, -0.5, 1.0 / 19.2], rel=1e-5)
    weights = arc.arc.mesh.weights()
    assert weights @ arc.path_multipliers[:, 0] == pytest.approx(1.0, rel=1e-7)


def test_multipliers_of_a_minimax_are_its_slopes() -> None:
    solution, step = least(least_peak.problem()), 1e-4
    farther, nearer = (
        least(least_peak.problem(distance=1.0 + side * step)).objective for side in (1.0, -1.0)
    )
    slope = (farther - nearer) / (2.0 * step)
    assert slope == pytest.approx(least_peak.DENSITY, rel=1e-3)
    assert solution.condition_multipliers[3] == pytest.approx(-slope, rel=1e-3)
    assert solution.condition_multipliers[5] == pytest.approx(-least_peak.BY_EFFORT, rel=1e-5)
    change = Envelope.of(solution).change(least_peak.problem(effort=least_peak.EFFORT + step))
    assert change == pytest.approx(step * least_peak.BY_EFFORT, rel=1e-5)


def test_a_limit_with_a_free_number_is_seen_and_refined_between_the_nodes() -> None:
    problem = least_peak.problem(RadauMesh.uniform(intervals=3, degree=4))
    start = least_peak.guess(problem)
    coarse = solve(problem, start)
    excess = path_excess(coarse.arcs[0]).max()
    speed = coarse.arcs[0].state_at(np.linspace(0.0, 1.0, 2001))[:, 1].max()
    assert excess > 1e-3
    assert excess == pytest.approx((speed - coarse.free[0]) / 0.5, rel=0.2)
    fine = refine(problem, start, Refinement(tolerance=1e-4, path_tolerance=1e-3, rounds=8))
    assert path_excess(fine.arcs[0]).max() < 1e-3
    assert fine.objective == pytest.approx(least_peak.PEAK, abs=1e-3)


def test_a_model_that_reads_no_free_number_builds_the_program_that_it_did() -> None:
    plain = speed_limited.problem()
    more = replace(plain, free=(Quantity("idle"),), free_bounds=Bounds.fixed((0.0,)))
    programs = [build(one.structure()) for one in (plain, more)]
    assert len({program.jacobian.nnz_out(1) for program in programs}) == 1
    assert len({program.hessian.nnz_out(0) for program in programs}) == 1
    alone, beside = (solve(one, speed_limited.guess(one)) for one in (plain, more))
    assert alone.iterations == beside.iterations
    assert np.array_equal(alone.raw.x, beside.raw.x[:-1])


def test_a_free_number_is_one_dense_column() -> None:
    program = build(least_peak.problem().structure())
    jacobian = ca.DM(program.jacobian.sparsity_out(1), 1.0)
    column = np.array(jacobian)[:, program.layout.free_variables[0]]
    limits = program.layout.arcs[0].node_rows[:, 3:].ravel()
    assert np.flatnonzero(column).tolist() == limits.tolist()


@pytest.mark.parametrize("names", [(), ("peek",), ("peak", "peak")])
def test_a_free_number_that_is_not_there_or_there_twice_is_refused(names: tuple[str, ...]) -> None:
    problem = least_peak.problem()
    with pytest.raises(InputError, match=r"Arc 'run': the model 'least peak' reads .* 'peak'"):
        replace(
            problem,
            free=tuple(Quantity(name) for name in names),
            free_bounds=Bounds.free(len(names)),
        )


def logarithm(point: Point) -> list[Expr]:
    return [point.state[1], point.control + ca.log(point.free), 0.0]


def test_what_is_not_finite_is_told_with_the_free_numbers() -> None:
    plain = least_peak.problem()
    arc = replace(plain.arcs[0], model=replace(least_peak.MODEL, rates=logarithm))
    problem = replace(plain, arcs=(arc,), free_bounds=Bounds.free(1))
    start = replace(least_peak.guess(problem), free=np.array([-2.0]))
    with pytest.raises(InputError, match=r"rate of v in arc 'run' .* is nan with .*peak = -2 m/s"):
        solve(problem, start)

"""From the program's vectors back to trajectories, costates and residuals."""

from __future__ import annotations

import casadi as ca
import numpy as np

from ascentopt.collocation.guess import ArcDuals, Duals
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.layout import ArcLayout, Layout
from ascentopt.collocation.nlp.program import Program
from ascentopt.collocation.nlp.vectors import (
    Limits,
    condition_scales,
    local_weights,
    scales_of,
    variable_scales,
)
from ascentopt.collocation.problem import Arc, Problem
from ascentopt.collocation.solution import ArcSolution, Outcome, Raw, Residuals, Solution


def read_back(
    problem: Problem, program: Program, bounds: Limits, raw: Raw, outcome: Outcome, iterations: int
) -> Solution:
    """Make the solution of the solver's last iterate."""
    layout = program.layout
    x = raw.x * variable_scales(problem, layout)
    cost, rows = (np.array(v, dtype=float).ravel() for v in program.values(raw.x, raw.p))
    objective_scale = problem.objective.quantity.scale
    pairs = zip(problem.arcs, layout.arcs, strict=True)
    return Solution(
        problem=problem,
        outcome=outcome,
        arcs=tuple(_arc(problem, arc, place, k, x, rows, raw)
                   for k, (arc, place) in enumerate(pairs)),
        free=x[layout.free_variables],
        objective=float(cost[0]) * objective_scale * problem.objective.sign,
        condition_multipliers=raw.lam_g[layout.condition_rows]
        * objective_scale
        / condition_scales(problem),
        free_multipliers=raw.lam_x[layout.free_variables]
        * objective_scale
        / scales_of(problem.free),
        residuals=_residuals(problem, program, bounds, raw, rows),
        iterations=iterations,
        duals=_duals(problem, layout, raw),
        raw=raw,
    )  # fmt: skip


def _arc(
    problem: Problem, arc: Arc, place: ArcLayout, k: int, x: Array, rows: Array, raw: Raw
) -> ArcSolution:
    n, cost = place.states, problem.objective.quantity.scale
    first, last = _instants_of(problem, x, k)
    span = (last - first) if last > first else 1.0
    multipliers = raw.lam_g[place.node_rows]
    path_scales = scales_of(arc.model.path)
    density = multipliers[:, n:] / arc.mesh.weights()[:, None]
    return ArcSolution(
        arc=arc,
        times=first + (last - first) * np.concatenate(([0.0], arc.mesh.fractions())),
        variables=x[place.support],
        variable_costates=_costates(arc, multipliers[:, :n]) * cost / arc.scales,
        controls=x[place.node_variables[:, n:]],
        path=rows[place.node_rows[:, n:]] * path_scales,
        path_multipliers=density * cost / (path_scales * span),
        free=x[len(x) - len(problem.free) :][list(place.free)],
    )


def _instants_of(problem: Problem, x: Array, k: int) -> tuple[float, float]:
    first_instant = len(x) - len(problem.free) - len(problem.arcs) - 1
    return float(x[first_instant + k]), float(x[first_instant + k + 1])


def _costates(arc: Arc, multipliers: Array) -> Array:
    """(N + 1, n) scaled costates from the (N, n) multipliers of the defects.

    With L = f + sum_i M_i (D x - F)_i, a defect's multiplier is minus the costate times the local
    quadrature weight; the start's costate follows from stationarity with respect to its state.
    Source: D. Garg et al., Automatica 46 (2010), sec. 4, for the Radau scheme flipped in time.
    """
    first = arc.mesh.schemes()[0]
    start = first.derivative[:, 0] @ multipliers[: len(first.points)]
    return np.vstack((start, -multipliers / local_weights(arc)[:, None]))


def _duals(problem: Problem, layout: Layout, raw: Raw) -> Duals:
    pairs = zip(problem.arcs, layout.arcs, strict=True)
    return Duals(
        arcs=tuple(_arc_duals(arc, place, raw) for arc, place in pairs),
        durations=dict(zip(layout.timed, raw.lam_g[layout.duration_rows], strict=True)),
        conditions=raw.lam_g[layout.condition_rows],
        instants=raw.lam_x[layout.instants],
        free=raw.lam_x[layout.free_variables],
    )


def _arc_duals(arc: Arc, place: ArcLayout, raw: Raw) -> ArcDuals:
    weights, local = arc.mesh.weights()[:, None], local_weights(arc)[:, None]
    scale = np.where(np.arange(place.height) < place.states, local, weights)
    return ArcDuals(
        fractions=arc.mesh.fractions(),
        rows=raw.lam_g[place.node_rows] / scale,
        variables=raw.lam_x[place.node_variables] / weights,
        start=raw.lam_x[place.start],
    )


def residuals(problem: Problem, program: Program, bounds: Limits, raw: Raw) -> Residuals:
    """First-order optimality conditions at the point, in scaled units.

    Variables whose bounds coincide are constants: the solver removes them, so their gradient
    entries carry no condition.
    """
    rows = np.array(program.values(raw.x, raw.p)[1], dtype=float).ravel()
    return _residuals(problem, program, bounds, raw, rows)


def _residuals(
    problem: Problem, program: Program, bounds: Limits, raw: Raw, rows: Array
) -> Residuals:
    gradient = np.array(program.gradient(raw.x, raw.p)[1], dtype=float).ravel()
    jacobian = program.jacobian(raw.x, raw.p)[1]
    pull = np.array(ca.mtimes(jacobian.T, ca.DM(raw.lam_g)), dtype=float).ravel()
    stationarity = gradient + pull + raw.lam_x
    free = bounds.lbx < bounds.ubx
    row_violation = _violation(rows, bounds.lbg, bounds.ubg)
    own_violation = _violation(raw.x, bounds.lbx, bounds.ubx)
    slack = np.concatenate((
        _slack_product(rows, bounds.lbg, bounds.ubg, raw.lam_g),
        _slack_product(raw.x, bounds.lbx, bounds.ubx, raw.lam_x)[free],
    ))  # fmt: skip
    every = np.concatenate((row_violation, own_violation))
    return Residuals(
        primal=_largest(every),
        dual=_largest(np.abs(stationarity[free])),
        complementarity=_largest(slack),
        worst=_name(problem, program.layout, int(np.argmax(every))),
    )


def _violation(value: Array, lower: Array, upper: Array) -> Array:
    return np.maximum(0.0, np.maximum(lower - value, value - upper))


def _slack_product(value: Array, lower: Array, upper: Array, multiplier: Array) -> Array:
    """|multiplier * distance to the bound that its sign names|; equality rows have none."""
    distance = np.where(multiplier > 0.0, upper - value, value - lower)
    distance = np.where(np.isfinite(distance), distance, 1.0)
    return np.where(lower == upper, 0.0, np.abs(multiplier * distance))


def _largest(values: Array) -> float:
    return float(values.max(initial=0.0)) if np.all(np.isfinite(values)) else float("inf")


def _name(problem: Problem, layout: Layout, index: int) -> str:
    from ascentopt.collocation.nlp.naming import row_name, variable_name

    if index < layout.rows:
        return row_name(problem, layout, index)
    return variable_name(problem, layout, index - layout.rows)

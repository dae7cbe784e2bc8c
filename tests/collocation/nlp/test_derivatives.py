"""The assembled program against an independent evaluation and independent derivatives.

The values are repeated in NumPy, arc by arc, from the definition of the transcription; the
derivatives are compared with CasADi's differentiation of the assembled values and with differences.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ascentopt.collocation import Ends, Point
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.layout import Layout
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import condition_scales, parameter_vector, variable_scales
from tests.collocation.mixed import PROBLEM

PROGRAM = build(PROBLEM.structure())
LAYOUT: Layout = PROGRAM.layout
P = parameter_vector(PROBLEM)

seeds = st.integers(0, 2**32 - 1)
few = settings(max_examples=15)


def random_point(seed: int) -> Array:
    return np.random.default_rng(seed).uniform(-1.5, 1.5, LAYOUT.variables)


def dense(value: Any) -> Array:
    return np.array(ca.DM(value), dtype=float)


def expected_rows(x: Array) -> Array:
    """g in physical units, scaled last, from the docstring of the layout and nothing else."""
    arcs = [_arc_rows(x, k) for k in range(3)]
    t = x[LAYOUT.instants]
    # Spans that begin at a free instant: all arcs, as the start is free, then the span.
    spans = [t[1] - t[0], t[2] - t[1], t[3] - t[2], t[2] - t[0]]
    ends = _ends(x)
    conditions = [v for c in PROBLEM.conditions for v in np.ravel(c.expression(ends))]
    scaled = np.array(conditions) / condition_scales(PROBLEM)
    return np.concatenate([*arcs, np.array(spans) / PROBLEM.time.scale, scaled])


def _arc_rows(x: Array, k: int) -> Array:
    arc, place = PROBLEM.arcs[k], LAYOUT.arcs[k]
    states, controls = x[place.support], x[place.node_variables[:, place.states :]]
    first, last = x[LAYOUT.instants[k : k + 2]]
    free = dict(zip("fg", x[LAYOUT.free_variables], strict=True))
    rows = []
    for node, fraction in enumerate(arc.mesh.fractions()):
        interval = int(np.searchsorted(np.cumsum(arc.mesh.degrees), node, side="right"))
        start, stop = arc.mesh.starts()[interval : interval + 2]
        scheme = arc.mesh.schemes()[interval]
        slope = scheme.derivative[node - start] @ states[start : stop + 1]
        time = first + fraction * (last - first)
        point = Point(
            time=time,
            elapsed=time - first,
            state=states[node + 1],
            control=controls[node],
            parameter=np.array(arc.parameters),
            free=np.array([free[name] for name in arc.model.free]),
        )
        width = arc.mesh.widths[interval] * (last - first)
        rows.append((slope - width * np.array(arc.model.rates(point))) / arc.scales)
        scales = [q.scale for q in arc.model.path]
        rows.append(np.array(arc.model.path_values(point)) / np.array(scales))
    return np.concatenate(rows)


def _ends(x: Array) -> Ends:
    return Ends(
        start=tuple(x[place.support[0]] for place in LAYOUT.arcs),
        end=tuple(x[place.support[-1]] for place in LAYOUT.arcs),
        time=x[LAYOUT.instants],
        free=x[LAYOUT.free_variables],
        parameter=np.array(PROBLEM.parameter_values),
    )


@few
@given(seeds)
def test_values_are_the_transcription_written_out(seed: int) -> None:
    scaled = random_point(seed)
    x = scaled * variable_scales(PROBLEM, LAYOUT)
    cost, rows = (dense(v).ravel() for v in PROGRAM.values(scaled, P))
    assert rows == pytest.approx(expected_rows(x), rel=1e-11, abs=1e-11)
    payoff = PROBLEM.objective.expression(_ends(x))
    assert cost[0] == pytest.approx(-payoff / PROBLEM.objective.quantity.scale, rel=1e-12)


@cache
def differentiated() -> tuple[ca.Function, ca.Function]:
    """CasADi's own (jacobian, gradient) and Lagrangian Hessian of the assembled values."""
    x, p = ca.MX.sym("x", LAYOUT.variables), ca.MX.sym("p", LAYOUT.numbers)
    cost, rows = PROGRAM.values(x, p)
    weight, weights = ca.MX.sym("weight"), ca.MX.sym("weights", LAYOUT.rows)
    first = ca.Function("first", [x, p], [ca.jacobian(rows, x), ca.gradient(cost, x)])
    lagrangian = weight * cost + ca.dot(weights, rows)
    second = ca.hessian(lagrangian, x)[0]
    return first, ca.Function("second", [x, p, weight, weights], [second])


@few
@given(seeds)
def test_first_derivatives_are_those_of_the_values(seed: int) -> None:
    x = random_point(seed)
    rows, jacobian = PROGRAM.jacobian(x, P)
    cost, gradient = PROGRAM.gradient(x, P)
    expected_jacobian, expected_gradient = differentiated()[0](x, P)
    assert dense(jacobian) == pytest.approx(dense(expected_jacobian), rel=1e-11, abs=1e-11)
    assert dense(gradient) == pytest.approx(dense(expected_gradient), rel=1e-12, abs=1e-12)
    value = PROGRAM.values(x, P)
    assert np.array_equal(dense(cost), dense(value[0]))
    assert dense(rows) == pytest.approx(dense(value[1]), rel=1e-13, abs=1e-13)


@few
@given(seeds)
def test_second_derivatives_are_those_of_the_lagrangian(seed: int) -> None:
    x = random_point(seed)
    weights = np.random.default_rng(seed + 1).normal(size=LAYOUT.rows)
    upper = dense(PROGRAM.hessian(x, P, 0.7, weights))
    assert np.array_equal(upper, np.triu(upper))
    expected = dense(differentiated()[1](x, P, 0.7, weights))
    assert upper == pytest.approx(np.triu(expected), rel=1e-10, abs=1e-10)


@settings(max_examples=4)
@given(seeds)
def test_derivatives_agree_with_central_differences(seed: int) -> None:
    x, step = random_point(seed), 1e-6
    weights = np.random.default_rng(seed + 1).normal(size=LAYOUT.rows)
    upper = dense(PROGRAM.hessian(x, P, 0.7, weights))
    symmetric = upper + np.triu(upper, 1).T
    jacobian, gradient = dense(PROGRAM.jacobian(x, P)[1]), dense(PROGRAM.gradient(x, P)[1]).ravel()

    def lagrangian_slope(at: Array) -> Array:
        slope = dense(PROGRAM.jacobian(at, P)[1]).T @ weights
        return np.asarray(0.7 * dense(PROGRAM.gradient(at, P)[1]).ravel() + slope)

    for column in range(LAYOUT.variables):
        ahead, behind = x.copy(), x.copy()
        ahead[column] += step
        behind[column] -= step
        plus, minus = PROGRAM.values(ahead, P), PROGRAM.values(behind, P)
        rows = (dense(plus[1]) - dense(minus[1])).ravel() / (2 * step)
        assert jacobian[:, column] == pytest.approx(rows, rel=1e-5, abs=1e-6)
        cost = float(plus[0] - minus[0]) / (2 * step)
        assert gradient[column] == pytest.approx(cost, rel=1e-5, abs=1e-6)
        bend = (lagrangian_slope(ahead) - lagrangian_slope(behind)) / (2 * step)
        assert symmetric[:, column] == pytest.approx(bend, rel=1e-5, abs=1e-5)


def test_the_spans_that_begin_at_a_free_instant_have_rows() -> None:
    assert LAYOUT.timed == ((0, 1), (1, 2), (2, 3), (0, 2))
    assert len(LAYOUT.duration_rows) == 4


def test_jacobian_pattern_holds_next_to_no_entry_that_is_always_zero() -> None:
    # All that is left: a function of time alone does not feel the first instant at the last node.
    stack = [np.abs(dense(PROGRAM.jacobian(random_point(k), P)[1])) for k in range(5)]
    rows, columns = PROGRAM.jacobian(random_point(0), P)[1].sparsity().get_triplet()
    empty = np.max(stack, axis=0)[rows, columns] == 0.0
    firsts = LAYOUT.instants[:-1]
    assert np.count_nonzero(empty) <= len(PROBLEM.arcs)
    assert np.all(np.isin(np.array(columns)[empty], firsts))


@few
@given(seeds)
def test_sensitivity_is_the_derivative_of_the_lagrangian_by_the_numbers(seed: int) -> None:
    x, step = random_point(seed), 1e-6
    weights = np.random.default_rng(seed + 1).normal(size=LAYOUT.rows)
    slopes = dense(PROGRAM.sensitivity(x, P, weights)).ravel()

    def lagrangian(p: Array) -> float:
        cost, rows = PROGRAM.values(x, p)
        return float(cost) + float(weights @ dense(rows).ravel())

    first = LAYOUT.arcs[0].first_parameter + 2 * LAYOUT.arcs[0].nodes
    for k in (first, first + 1, LAYOUT.first_problem_parameter, LAYOUT.first_problem_parameter + 1):
        moved = np.zeros(len(P))
        moved[k] = step
        difference = (lagrangian(P + moved) - lagrangian(P - moved)) / (2 * step)
        assert slopes[k] == pytest.approx(difference, rel=1e-5, abs=1e-6)

"""Where a number stops being finite: quantity, arc, time, and the inputs that did it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.blocks import Block, end_blocks
from ascentopt.collocation.nlp.layout import ArcLayout
from ascentopt.collocation.nlp.naming import row_name, variable_name
from ascentopt.collocation.nlp.program import Program
from ascentopt.collocation.nlp.vectors import Limits, variable_scales
from ascentopt.collocation.problem import Arc, Problem
from ascentopt.errors import InputError
from ascentopt.typing import Expr

COLD_PUSH = 1e-4


def check_start(
    problem: Problem, program: Program, bounds: Limits, x: Array, p: Array, push: float
) -> None:
    """Refuse a start from which the solver could not take its first step.

    Looked at where the solver begins: ``push`` inside the bounds.

    Raises:
        InputError: with the address of the first value or derivative that is not finite.
    """
    fault = first_fault(problem, program, inside(x, bounds, push), p)
    if fault:
        raise InputError(
            f"Start: {fault}. Values and first and second derivatives must be finite where the "
            "solver begins. Make the function smooth and finite there, or start elsewhere."
        )


def inside(x: Array, bounds: Limits, push: float) -> Array:
    """Variables moved ``push`` inside their bounds, relative to bound and width, as IPOPT does."""
    width = bounds.ubx - bounds.lbx
    low = bounds.lbx + push * np.minimum(_size(bounds.lbx), width)
    high = bounds.ubx - push * np.minimum(_size(bounds.ubx), width)
    return np.asarray(np.minimum(np.maximum(x, low), high))


def _size(bound: Array) -> Array:
    return np.maximum(1.0, np.abs(np.where(np.isfinite(bound), bound, 0.0)))


def first_fault(problem: Problem, program: Program, x: Array, p: Array) -> str:
    """Sentence about the first number that is not finite at ``x``; empty when all are."""
    view = _View(problem, program, x * variable_scales(problem, program.layout))
    return next(_faults(view, x, p), "")


def _faults(view: _View, x: Array, p: Array) -> Iterator[str]:
    program = view.program
    cost, rows = program.values(x, p)
    for row in _not_finite(np.array(rows).ravel()):
        yield f"{view.row(row)} is {float(rows[row])} with {view.row_inputs(row)}"
    if not np.isfinite(float(cost)):
        yield f"the objective is {float(cost)} with {view.objective_inputs()}"
    for row, column, value in _bad_entries(program.jacobian(x, p)[1]):
        yield (
            f"the derivative of {view.row(row)} by {view.variable(column)} is {value} "
            f"with {view.row_inputs(row)}"
        )
    for column in _not_finite(np.array(program.gradient(x, p)[1]).ravel()):
        yield (
            f"the derivative of the objective by {view.variable(column)} is not finite "
            f"with {view.objective_inputs()}"
        )
    for row, column, value in _bad_entries(program.hessian(x, p, 1.0, np.ones(len(view.rows)))):
        yield (
            f"the second derivative by {view.variable(row)} and {view.variable(column)} is {value} "
            f"with {view.variable_inputs(row, column)}"
        )


def _not_finite(values: Array) -> list[int]:
    return [int(k) for k in np.flatnonzero(~np.isfinite(values))]


def _bad_entries(matrix: Expr) -> Iterator[tuple[int, int, float]]:
    values = np.array(matrix.nonzeros(), dtype=float)
    bad = _not_finite(values)
    if bad:
        rows, columns = matrix.sparsity().get_triplet()
        yield from ((rows[k], columns[k], float(values[k])) for k in bad)


@dataclass(frozen=True, eq=False)
class _View:
    """A point of a program in physical units, and the names of all that stands in it."""

    problem: Problem
    program: Program
    x: Array

    @property
    def rows(self) -> range:
        return range(self.program.layout.rows)

    def row(self, row: int) -> str:
        return row_name(self.problem, self.program.layout, row)

    def variable(self, variable: int) -> str:
        return variable_name(self.problem, self.program.layout, variable)

    def row_inputs(self, row: int) -> str:
        """Arguments of the function behind a constraint, with their values."""
        layout = self.program.layout
        for k, place in enumerate(layout.arcs):
            if 0 <= row - place.first_row < place.rows:
                return self._node_inputs(k, (row - place.first_row) // place.height)
        if row in layout.duration_rows:
            return self._listed(layout.instants.tolist())
        if row >= layout.first_ramp_row:
            return "no input that could do it: the row is linear"
        blocks = end_blocks(self.problem.structure())
        return self._end_inputs(blocks.conditions, row - int(layout.condition_rows[0]))

    def objective_inputs(self) -> str:
        return self._end_inputs(end_blocks(self.problem.structure()).objective, 0)

    def variable_inputs(self, *variables: int) -> str:
        """Arguments of the node that one of the variables belongs to, or their own values."""
        for k, place in enumerate(self.program.layout.arcs):
            for variable in variables:
                node = _node_of(place, variable)
                if node is not None:
                    return self._node_inputs(k, node)
        return self._listed(list(variables))

    def _node_inputs(self, k: int, node: int) -> str:
        arc, place = self.problem.arcs[k], self.program.layout.arcs[k]
        first, last = self.x[self.program.layout.instants[k : k + 2]]
        time = self.problem.time
        values = [(time.name, first + arc.mesh.fractions()[node] * (last - first), time.unit)]
        names = (*arc.model.variables, *arc.model.controls)
        numbers = self.x[place.node_variables[node]]
        values += [(q.name, value, q.unit) for q, value in zip(names, numbers, strict=True)]
        shared = [self.problem.free[own] for own in place.free]
        free = self.x[self.program.layout.shared_variables(k)[2:]]
        values += [(q.name, value, q.unit) for q, value in zip(shared, free, strict=True)]
        return ", ".join(_shown(*value) for value in [*values, *_parameters(arc)])

    def _end_inputs(self, block: Block, output: int) -> str:
        rows, columns = block.jacobian_places
        return self._listed(self.program.layout.tail[columns[rows == output]].tolist())

    def _listed(self, variables: list[int]) -> str:
        return ", ".join(f"{self.variable(v)} = {self.x[v]:.6g}" for v in variables) or "no input"


def _node_of(place: ArcLayout, variable: int) -> int | None:
    local = variable - place.first_variable - place.states
    return local // place.width if 0 <= local < place.nodes * place.width else None


def _parameters(arc: Arc) -> list[tuple[str, float, str]]:
    pairs = zip(arc.model.parameters, arc.parameters, strict=True)
    return [(name, value, "") for name, value in pairs]


def _shown(name: str, value: float, unit: str) -> str:
    return f"{name} = {value:.6g} {unit}".rstrip()

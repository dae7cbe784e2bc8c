"""Symbolic derivatives of the two small functions that the program is assembled from.

Every node of an arc has the same equations, and so has the same derivatives: they are made once
for a model, as scalar expressions of a dozen inputs, and evaluated at all nodes by a map. The
large Jacobian and Hessian are then a matter of putting numbers in their places.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import casadi as ca
import numpy as np

from ascentopt.collocation.model import Model, as_column, physical
from ascentopt.collocation.problem import Ends, Expression, Structure
from ascentopt.numerics.lifted import Lifted
from ascentopt.typing import Expr


@dataclass(frozen=True, eq=False)
class Block:
    """A vector function with its first derivative and the second of its weighted sum.

    Derivatives are made when they are asked for: what is only evaluated needs none.

    Attributes:
        name: of its functions.
        column: v, differentiated by the first of ``arguments``, a column as well.
        arguments: (z, ...).
    """

    name: str
    column: Expr
    arguments: tuple[Expr, ...]

    @cached_property
    def value(self) -> ca.Function:
        """(z, ...) -> v."""
        return ca.Function(self.name, [*self.arguments], [self.column])

    @cached_property
    def jacobian(self) -> ca.Function:
        """(z, ...) -> (v, nonzeros of dv/dz)."""
        found = ca.cse([self.column, _nonzeros(self._first)])
        return ca.Function(self.name + "_jacobian", [*self.arguments], found)

    @cached_property
    def jacobian_places(self) -> tuple[np.ndarray, np.ndarray]:
        """Rows and columns of the Jacobian's nonzeros."""
        return _places(self._first)

    @cached_property
    def hessian(self) -> ca.Function:
        """(z, ..., weight) -> nonzeros of the upper triangle of d2(weight . v)/dz2."""
        weight, second = self._second
        inputs = [*self.arguments, weight]
        return ca.Function(self.name + "_hessian", inputs, [_nonzeros(second)])

    @cached_property
    def hessian_places(self) -> tuple[np.ndarray, np.ndarray]:
        """Rows and columns of the Hessian's nonzeros."""
        return _places(self._second[1])

    @cached_property
    def _lifted(self) -> Lifted:
        return Lifted.of(self.column)

    @cached_property
    def _first(self) -> Expr:
        return self._lifted.jacobian(self.arguments[0])

    @cached_property
    def _second(self) -> tuple[Expr, Expr]:
        """The weights, and the upper triangle."""
        weight = ca.SX.sym("weight", self.column.numel())
        return weight, ca.triu(self._lifted.hessian(weight, self.arguments[0]))


def _nonzeros(matrix: Expr) -> Expr:
    return ca.vertcat(*matrix.nonzeros()) if matrix.nnz() else ca.SX(0, 1)


def _places(matrix: Expr) -> tuple[np.ndarray, np.ndarray]:
    rows, columns = matrix.sparsity().get_triplet()
    return np.array(rows, dtype=int), np.array(columns, dtype=int)


@lru_cache(maxsize=64)
def node_block(model: Model) -> Block:
    """Scaled state increments over the interval and scaled path values at one node.

    z = (state, control, first instant, last instant, free numbers of the model), all scaled;
    others = (fraction of the arc, width of the interval), (model parameters, state scales, time
    scale, scales of the free numbers).
    """
    n, m, k = len(model.states), len(model.controls), len(model.parameters)
    z = ca.SX.sym("z", n + m + 2 + len(model.free))
    place = ca.SX.sym("place", 2)
    numbers = ca.SX.sym("numbers", k + n + 1 + len(model.free))
    scales, time_scale, free_scales = numbers[k : k + n], numbers[k + n], numbers[k + n + 1 :]
    begin, finish = time_scale * z[n + m], time_scale * z[n + m + 1]
    rates, path = physical(model)(
        begin + place[0] * (finish - begin),
        place[0] * (finish - begin),
        z[:n] * scales,
        z[n : n + m] * ca.DM([q.scale for q in model.controls]) if m else ca.SX(0, 1),
        ca.vertcat(numbers[:k], z[n + m + 2 :] * free_scales),
    )
    increments = place[1] * (finish - begin) * rates / scales
    limits = path / ca.DM([q.scale for q in model.path])
    return Block("node", ca.vertcat(increments, limits), (z, place, numbers))


@dataclass(frozen=True, eq=False)
class EndBlocks:
    """Scaled objective and scaled conditions as functions of the tail variables.

    others = (state scales of all arcs), (all that follows the arcs in p).
    """

    objective: Block
    conditions: Block


def end_blocks(structure: Structure) -> EndBlocks:
    """Differentiate what holds at the ends of the arcs; kept, as it does not depend on meshes."""
    count = sum(size for size, _ in structure.conditions)
    frame = _Frame(structure.models, structure.parameters, count, len(structure.free))
    return EndBlocks(
        objective=_objective_block(frame, structure.objective),
        conditions=_conditions_block(frame, structure.conditions),
    )


@dataclass(frozen=True)
class _Frame:
    """Models of the arcs, numbers of parameters, of conditions and of free variables."""

    models: tuple[Model, ...]
    parameters: int
    conditions: int
    free: int


@lru_cache(maxsize=64)
def _objective_block(frame: _Frame, objective: Expression) -> Block:
    tail = _Tail.of(frame)
    cost = as_column(objective(tail.ends()), 1, "Objective: expression", "value")
    return tail.differentiated("objective", cost / tail.objective_scale)


@lru_cache(maxsize=64)
def _conditions_block(frame: _Frame, conditions: tuple[tuple[int, Expression], ...]) -> Block:
    tail = _Tail.of(frame)
    ends = tail.ends()
    values = [
        as_column(expression(ends), size, f"Condition {k}: expression", "quantities")
        for k, (size, expression) in enumerate(conditions)
    ]
    rows = ca.vertcat(ca.SX(0, 1), *values) / tail.row_scales
    return tail.differentiated("conditions", rows)


@dataclass(frozen=True)
class _Tail:
    """Symbols of the scaled tail variables, of the state scales and of the rest of p."""

    models: tuple[Model, ...]
    states: tuple[Expr, ...]  # start and end of each arc in turn
    time: Expr
    free: Expr
    scales: Expr
    parameter: Expr
    row_scales: Expr
    objective_scale: Expr
    time_scale: Expr
    free_scales: Expr

    @classmethod
    def of(cls, frame: _Frame) -> _Tail:
        sizes = [len(model.states) for model in frame.models]
        return cls(
            models=frame.models,
            states=tuple(ca.SX.sym("state", n) for n in sizes for _ in range(2)),
            time=ca.SX.sym("time", len(sizes) + 1),
            free=ca.SX.sym("free", frame.free),
            scales=ca.SX.sym("scales", sum(sizes)),
            parameter=ca.SX.sym("parameter", frame.parameters),
            row_scales=ca.SX.sym("row_scales", frame.conditions),
            objective_scale=ca.SX.sym("objective_scale"),
            time_scale=ca.SX.sym("time_scale"),
            free_scales=ca.SX.sym("free_scales", frame.free),
        )

    def differentiated(self, name: str, value: Expr) -> Block:
        """The block of a value with respect to the tail variables."""
        rest = ca.vertcat(
            self.parameter,
            self.row_scales,
            self.objective_scale,
            self.time_scale,
            self.free_scales,
        )
        column = ca.vertcat(*self.states, self.time, self.free)
        return Block(name, value, (column, self.scales, rest))

    def ends(self) -> Ends:
        """The tail in physical units."""
        sizes = [state.numel() for state in self.states[::2]]
        own = ca.vertsplit(self.scales, np.cumsum([0, *sizes]).tolist())
        start = tuple(x * s for x, s in zip(self.states[::2], own, strict=True))
        end = tuple(x * s for x, s in zip(self.states[1::2], own, strict=True))
        return Ends(
            start=tuple(m.state(x) for m, x in zip(self.models, start, strict=True)),
            end=tuple(m.state(x) for m, x in zip(self.models, end, strict=True)),
            start_coordinates=start,
            end_coordinates=end,
            time=self.time * self.time_scale,
            free=self.free * self.free_scales,
            parameter=self.parameter,
        )

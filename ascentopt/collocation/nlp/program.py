"""The nonlinear program of a structure: values, exact sparse derivatives, ready for the solver."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.mesh import derivative_entries
from ascentopt.collocation.nlp.blocks import Block, end_blocks, node_block
from ascentopt.collocation.nlp.layout import ArcLayout, Layout, lay_out
from ascentopt.collocation.nlp.ramps import Ramps
from ascentopt.collocation.nlp.scatter import Entries, scatter, sparse
from ascentopt.collocation.problem import Structure
from ascentopt.typing import Expr


@dataclass(frozen=True, eq=False)
class Program:
    """Minimise f(x; p) subject to bounds on x and on g(x; p).

    Derivatives are put together when they are asked for: a price wants values alone.

    Attributes:
        layout: what stands where in x, g and p.
        ramps: the rows that keep controls straight.
    """

    layout: Layout
    ramps: Ramps
    _x: Expr
    _p: Expr
    _pieces: tuple[_Piece, ...]
    _linear: Entries

    @cached_property
    def values(self) -> ca.Function:
        """(x, p) -> (f, g)."""
        return ca.Function("nlp", self._at, [self._cost, self._rows], ["x", "p"], ["f", "g"])

    @cached_property
    def gradient(self) -> ca.Function:
        """(x, p) -> (f, df/dx)."""
        slope = _jacobian([self._pieces[-1].first_row()], (1, self._shape[1]), Entries.none())
        return ca.Function("nlp_grad_f", self._at, [self._cost, ca.densify(slope).T])

    @cached_property
    def jacobian(self) -> ca.Function:
        """(x, p) -> (g, dg/dx), sparse."""
        slopes = _jacobian(self._pieces[:-1], self._shape, self._linear)
        return ca.Function("nlp_jac_g", self._at, [self._rows, slopes])

    @cached_property
    def hessian(self) -> ca.Function:
        """(x, p, weight of f, weights of g) -> upper triangle of the Lagrangian's Hessian."""
        weight, weights = ca.MX.sym("weight"), ca.MX.sym("weights", self.layout.rows)
        second = _second_derivative(self._pieces, self.layout, weight, weights)
        return ca.Function("nlp_hess_l", [*self._at, weight, weights], [second])

    @cached_property
    def sensitivity(self) -> ca.Function:
        """(x, p, weights of g) -> derivative of f + weights . g with respect to p."""
        x, p = _symbols(self.layout)
        weights = ca.MX.sym("weights", self.layout.rows)
        cost, rows = self.values(x, p)
        slope = ca.gradient(cost + ca.dot(weights, rows), p)
        return ca.Function("sensitivity", [x, p, weights], [slope])

    @property
    def _at(self) -> list[Expr]:
        return [self._x, self._p]

    @property
    def _shape(self) -> tuple[int, int]:
        return self.layout.rows, self.layout.variables

    @cached_property
    def _cost(self) -> Expr:
        objective = self._pieces[-1]
        return objective.mapped(objective.block.value)

    @cached_property
    def _rows(self) -> Expr:
        rows = _nonlinear_rows(self._pieces[:-1], self.layout)
        return rows + ca.mtimes(sparse(self._shape, self._linear), self._x)


@lru_cache(maxsize=32)
def build(structure: Structure) -> Program:
    """Assemble the program; kept for the next problem of the same structure."""
    layout = lay_out(structure)
    x, p = _symbols(layout)
    ramps = Ramps.of(structure, layout)
    return Program(
        layout=layout,
        ramps=ramps,
        _x=x,
        _p=p,
        _pieces=tuple(_pieces(structure, layout, x, p)),
        _linear=_linear_entries(structure, layout, ramps),
    )


def _symbols(layout: Layout) -> tuple[Expr, Expr]:
    return ca.MX.sym("x", layout.variables), ca.MX.sym("p", layout.numbers)


@dataclass(frozen=True, eq=False)
class _Piece:
    """A block with its arguments in the program, evaluated at one or many points.

    ``columns`` and ``rows`` (points, block size) say where its inputs and outputs stand; row -1
    is the objective, the last piece of a program. ``signs`` are the factors with which its outputs
    enter their rows.
    """

    block: Block
    arguments: tuple[Expr, ...]
    columns: np.ndarray
    rows: np.ndarray
    signs: np.ndarray

    def mapped(self, function: ca.Function, *more: Expr) -> Expr:
        """Last output of ``function`` at all points, one column each."""
        count = len(self.columns)
        return (function if count == 1 else function.map(count)).call([*self.arguments, *more])[-1]

    def first_row(self) -> _Piece:
        """The same piece with its output in row 0."""
        return replace(self, rows=np.zeros_like(self.rows))

    def jacobian_entries(self) -> Entries:
        """Places of the block's first derivatives, points slowest."""
        row, column = self.block.jacobian_places
        factors = np.broadcast_to(self.signs[row], (len(self.columns), len(row)))
        return Entries(self.rows[:, row].ravel(), self.columns[:, column].ravel(), factors.ravel())

    def hessian_entries(self) -> Entries:
        """Places of the block's second derivatives, mirrored into the upper triangle."""
        row, column = self.block.hessian_places
        places = self.columns[:, row].ravel(), self.columns[:, column].ravel()
        return Entries(*places, np.ones(len(places[0]))).upper()


def _pieces(structure: Structure, layout: Layout, x: Expr, p: Expr) -> Iterator[_Piece]:
    for k, model in enumerate(structure.models):
        yield _node_piece(node_block(model), layout, k, x, p)
    scales = ca.vertcat(*(_arc_numbers(arc, p)[2] for arc in layout.arcs))
    arguments = x[layout.tail.tolist()], scales, p[layout.first_problem_parameter :]
    blocks, columns = end_blocks(structure), layout.tail[None, :]
    rows = layout.condition_rows[None, :]
    yield _Piece(blocks.conditions, arguments, columns, rows, np.ones(layout.conditions))
    yield _Piece(blocks.objective, arguments, columns, np.array([[-1]]), np.ones(1))


def _arc_numbers(arc: ArcLayout, p: Expr) -> tuple[Expr, Expr, Expr]:
    """Places of the nodes (2, N), the model's parameters, the state scales."""
    cuts = np.cumsum([0, 2 * arc.nodes, arc.parameters, arc.states]) + arc.first_parameter
    places, parameters, scales = (p[int(a) : int(b)] for a, b in pairwise(cuts))
    return ca.reshape(places, arc.nodes, 2).T, parameters, scales


def _node_piece(block: Block, layout: Layout, k: int, x: Expr, p: Expr) -> _Piece:
    arc = layout.arcs[k]
    first, last = int(arc.node_variables[0, 0]), int(arc.node_variables[-1, -1])
    nodes = ca.reshape(x[first : last + 1], arc.width, arc.nodes)
    shared = layout.shared_variables(k)
    places, parameters, scales = _arc_numbers(arc, p)
    sizes = p[[layout.time_scale, *(layout.time_scale + 1 + place for place in arc.free)]]
    numbers = ca.vertcat(parameters, scales, sizes)
    return _Piece(
        block=block,
        arguments=(
            ca.vertcat(nodes, ca.repmat(x[shared.tolist()], 1, arc.nodes)),
            places,
            ca.repmat(numbers, 1, arc.nodes),
        ),
        columns=np.hstack((arc.node_variables, np.tile(shared, (arc.nodes, 1)))),
        rows=arc.node_rows,
        signs=np.concatenate((-np.ones(arc.states), np.ones(arc.path))),
    )


def _linear_entries(structure: Structure, layout: Layout, ramps: Ramps) -> Entries:
    """The constant part of the Jacobian: slopes of the state polynomials, durations, ramps."""
    parts = [_slope_entries(arc, d) for arc, d in zip(layout.arcs, structure.degrees, strict=True)]
    timed = np.array(layout.timed, dtype=int).reshape(-1, 2)
    ones = np.ones(len(timed))
    parts.append(Entries(layout.duration_rows, layout.instants[timed[:, 0]], -ones))
    parts.append(Entries(layout.duration_rows, layout.instants[timed[:, 1]], ones))
    return Entries.joined([*parts, ramps.entries])


def _slope_entries(arc: ArcLayout, degrees: tuple[int, ...]) -> Entries:
    node, support, slope = derivative_entries(degrees)
    rows = arc.node_rows[node, : arc.states]
    factors = np.repeat(slope[:, None], arc.states, axis=1)
    return Entries(rows.ravel(), arc.support[support].ravel(), factors.ravel())


def _nonlinear_rows(pieces: Sequence[_Piece], layout: Layout) -> Expr:
    """Constraints without their linear part."""
    *nodes, conditions = pieces
    rows = [ca.vec(ca.diag(piece.signs) @ piece.mapped(piece.block.value)) for piece in nodes]
    timed = ca.MX.zeros(len(layout.timed))
    tail = conditions.mapped(conditions.block.value)
    ramps = ca.MX.zeros(layout.ramps)
    return ca.vertcat(*rows, timed, tail, ramps)


def _jacobian(pieces: Sequence[_Piece], shape: tuple[int, int], constant: Entries) -> Expr:
    """Sparse matrix of the pieces' first derivatives and of constant entries."""
    entries = Entries.joined([piece.jacobian_entries() for piece in pieces])
    numbers = [ca.vec(piece.mapped(piece.block.jacobian)) for piece in pieces]
    return scatter(shape, entries, ca.vertcat(*numbers), constant)


def _second_derivative(
    pieces: Sequence[_Piece], layout: Layout, weight: Expr, weights: Expr
) -> Expr:
    """Upper triangle of the Hessian of weight f + weights . g."""
    size = layout.variables
    entries = Entries.joined([piece.hessian_entries() for piece in pieces])
    every = ca.vertcat(weight, weights)
    numbers = [
        ca.vec(piece.mapped(piece.block.hessian, _block_weights(piece, every))) for piece in pieces
    ]
    return scatter((size, size), entries, ca.vertcat(*numbers), Entries.none())


def _block_weights(piece: _Piece, every: Expr) -> Expr:
    """(block outputs, points) weights of the piece's outputs; ``every`` starts with f's."""
    points, outputs = piece.rows.shape
    chosen = ca.reshape(every[(piece.rows.ravel() + 1).tolist()], outputs, points)
    return ca.mtimes(ca.diag(piece.signs), chosen)

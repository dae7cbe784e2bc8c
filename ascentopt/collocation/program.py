"""The nonlinear program of a structure: values, exact sparse derivatives, ready for the solver."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise

import casadi as ca
import numpy as np

from ascentopt.collocation.blocks import Block, end_blocks, node_block
from ascentopt.collocation.layout import ArcLayout, Layout, lay_out
from ascentopt.collocation.mesh import derivative_entries
from ascentopt.collocation.problem import Structure
from ascentopt.collocation.ramps import Ramps
from ascentopt.collocation.scatter import Entries, scatter, sparse
from ascentopt.typing import Expr


@dataclass(frozen=True, eq=False)
class Program:
    """Minimise f(x; p) subject to bounds on x and on g(x; p).

    Attributes:
        layout: what stands where in x, g and p.
        values: (x, p) -> (f, g).
        gradient: (x, p) -> (f, df/dx).
        jacobian: (x, p) -> (g, dg/dx), sparse.
        hessian: (x, p, weight of f, weights of g) -> upper triangle of the Lagrangian's Hessian.
        ramps: the rows that keep controls straight.
    """

    layout: Layout
    values: ca.Function
    gradient: ca.Function
    jacobian: ca.Function
    hessian: ca.Function
    ramps: Ramps

    @cached_property
    def sensitivity(self) -> ca.Function:
        """(x, p, weights of g) -> derivative of f + weights . g with respect to p."""
        x, p = _symbols(self.layout)
        weights = ca.MX.sym("weights", self.layout.rows)
        cost, rows = self.values(x, p)
        slope = ca.gradient(cost + ca.dot(weights, rows), p)
        return ca.Function("sensitivity", [x, p, weights], [slope])


@lru_cache(maxsize=32)
def build(structure: Structure) -> Program:
    """Assemble the program; kept for the next problem of the same structure."""
    layout = lay_out(structure)
    x, p = _symbols(layout)
    pieces = list(_pieces(structure, layout, x, p))
    ramps = Ramps.of(structure, layout)
    linear = _linear_entries(structure, layout, ramps)
    cost, rows = _values(pieces, layout)
    rows = rows + ca.mtimes(sparse((layout.rows, layout.variables), linear), x)
    jacobian = _jacobian(pieces[:-1], (layout.rows, layout.variables), linear)
    gradient = _jacobian([pieces[-1].first_row()], (1, layout.variables), Entries.none())
    weight, weights = ca.MX.sym("weight"), ca.MX.sym("weights", layout.rows)
    hessian = _second_derivative(pieces, layout, weight, weights)
    return Program(
        layout=layout,
        values=ca.Function("nlp", [x, p], [cost, rows], ["x", "p"], ["f", "g"]),
        gradient=ca.Function("nlp_grad_f", [x, p], [cost, ca.densify(gradient).T]),
        jacobian=ca.Function("nlp_jac_g", [x, p], [rows, jacobian]),
        hessian=ca.Function("nlp_hess_l", [x, p, weight, weights], [hessian]),
        ramps=ramps,
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
    instants = layout.instants[k : k + 2]
    pair = x[int(instants[0]) : int(instants[1]) + 1]
    places, parameters, scales = _arc_numbers(arc, p)
    numbers = ca.vertcat(parameters, scales, p[layout.time_scale])
    return _Piece(
        block=block,
        arguments=(
            ca.vertcat(nodes, ca.repmat(pair, 1, arc.nodes)),
            places,
            ca.repmat(numbers, 1, arc.nodes),
        ),
        columns=np.hstack((arc.node_variables, np.broadcast_to(instants, (arc.nodes, 2)))),
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


def _values(pieces: list[_Piece], layout: Layout) -> tuple[Expr, Expr]:
    """Objective and constraints, these without their linear part."""
    *nodes, conditions, objective = pieces
    rows = [ca.vec(ca.diag(piece.signs) @ piece.mapped(piece.block.value)) for piece in nodes]
    timed = ca.MX.zeros(len(layout.timed))
    tail = conditions.mapped(conditions.block.value)
    ramps = ca.MX.zeros(layout.ramps)
    return objective.mapped(objective.block.value), ca.vertcat(*rows, timed, tail, ramps)


def _jacobian(pieces: list[_Piece], shape: tuple[int, int], constant: Entries) -> Expr:
    """Sparse matrix of the pieces' first derivatives and of constant entries."""
    entries = Entries.joined([piece.jacobian_entries() for piece in pieces])
    numbers = [ca.vec(piece.mapped(piece.block.jacobian)) for piece in pieces]
    return scatter(shape, entries, ca.vertcat(*numbers), constant)


def _second_derivative(pieces: list[_Piece], layout: Layout, weight: Expr, weights: Expr) -> Expr:
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

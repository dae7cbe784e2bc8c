"""Controls that may jump are straight in some intervals: a polynomial through a jump overshoots.

In an interval that its mesh marks as straight, each jumping control is a straight line through
its values at the first and the last node, and within its bounds at the interval's start as well:
then it is within them everywhere. Rows of the program say so; they are linear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.layout import Index, Layout
from ascentopt.collocation.problem import Structure
from ascentopt.collocation.radau import Array, radau
from ascentopt.collocation.scatter import Entries
from ascentopt.collocation.solution import ArcSolution

SLACK = 1e-3
"""Overshoot beyond a bound, in the control's scale, that is left to the export's clipping."""


@dataclass(frozen=True, eq=False)
class Ramps:
    """The rows that keep controls straight.

    Attributes:
        entries: of the rows, in the program's numbering.
        inner: (k, 2) row and variable of each value held on a line through two others.
        starts: (m, 2) row and first variable of each value at an interval's start.
    """

    entries: Entries
    inner: Index
    starts: Index

    @classmethod
    def of(cls, structure: Structure, layout: Layout) -> Ramps:
        """Place the rows after all others."""
        parts = [Entries.none()]
        inner: list[tuple[int, int]] = []
        starts: list[tuple[int, int]] = []
        row = layout.first_ramp_row
        for variables in _marked(structure, layout):
            points = radau(len(variables)).points
            for k in range(len(variables) - 1):
                at = 0.0 if k == 0 else points[k]
                share = (at - points[0]) / (points[-1] - points[0])
                own = [] if k == 0 else [variables[k]]
                columns = np.array([*own, variables[0], variables[-1]])
                factors = np.array([1.0, -(1.0 - share), -share])
                factors = -factors[1:] if k == 0 else factors
                parts.append(Entries(np.full(len(columns), row), columns, factors))
                (starts if k == 0 else inner).append((row, int(variables[k])))
                row += 1
        return cls(
            Entries.joined(parts),
            np.array(inner, dtype=int).reshape(-1, 2),
            np.array(starts, dtype=int).reshape(-1, 2),
        )


def _marked(structure: Structure, layout: Layout) -> Iterator[Index]:
    """(degree,) variables of each jumping control in each marked interval of more than a node."""
    groups = zip(structure.models, structure.degrees, structure.straight, layout.arcs, strict=True)
    for model, degrees, straight, place in groups:
        firsts = np.cumsum([0, *degrees])
        for first, degree, marked in zip(firsts, degrees, straight, strict=False):
            if marked and degree > 1:
                for control in model.jumping:
                    yield place.node_variables[first : first + degree, place.states + control]


def overshoots(arc: ArcSolution) -> np.ndarray:
    """(intervals,) whether a control that may jump leaves its bounds between the nodes."""
    mesh, bounds, jumping = arc.arc.mesh, arc.arc.control_bounds, list(arc.arc.model.jumping)
    if bounds is None or not jumping:
        return np.zeros(len(mesh.degrees), dtype=bool)
    lower, upper = np.array(bounds.lower)[jumping], np.array(bounds.upper)[jumping]
    scales = np.array([arc.arc.model.controls[k].scale for k in jumping])
    fractions = np.concatenate((mesh.breaks[:-1], mesh.between()))
    values = arc.control_at(fractions)[:, jumping]
    beyond = (np.maximum(lower - values, values - upper) / scales).max(axis=1) > SLACK
    found: np.ndarray = np.bincount(mesh.locate(fractions)[beyond], minlength=len(mesh.degrees)) > 0
    return found


def ramp_lengths(arc: ArcSolution) -> Array:
    """(intervals,) width of the marked intervals times the change of a jumping control in them.

    As fractions of the arc and of the width of the control's bounds.
    """
    mesh, bounds, jumping = arc.arc.mesh, arc.arc.control_bounds, list(arc.arc.model.jumping)
    if bounds is None or not jumping or not any(mesh.straight):
        return np.zeros(len(mesh.degrees))
    begin = arc.control_at(np.array(mesh.breaks[:-1]))[:, jumping]
    end = arc.control_at(np.nextafter(mesh.breaks[1:], 0.0))[:, jumping]
    width = np.array(bounds.upper)[jumping] - np.array(bounds.lower)[jumping]
    change = (np.abs(end - begin) / np.maximum(width, 1e-12)).max(axis=1)
    return np.where(mesh.straight, change * mesh.widths, 0.0)

"""Controls that may jump are straight in some intervals: a polynomial through a jump overshoots.

In an interval that its mesh marks as straight, each jumping control is a straight line through
its values at the first and the last node, and within its bounds at the interval's start as well:
then it is within them everywhere. Rows of the program say so; they are linear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ascentopt.collocation.mesh.radau import Array, radau
from ascentopt.collocation.model import Bounds
from ascentopt.collocation.nlp.layout import Index, Layout
from ascentopt.collocation.nlp.scatter import Entries
from ascentopt.collocation.problem import Arc, Structure
from ascentopt.collocation.solution import ArcSolution

SLACK = 1e-3
"""Overshoot of a bound, as a fraction of what lies between the bounds, that is no jump."""

ROUGH = 0.02
"""Highest Legendre term, in the same measure, that is no jump: one that is hidden within the
bounds shows there, while a smooth control has its last term far below."""


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
                for control in model.may_jump:
                    yield place.node_variables[first : first + degree, place.states + control]


def jumps(arc: ArcSolution) -> np.ndarray:
    """(intervals,) whether the polynomial of a jumping control hides a jump.

    It leaves its bounds between the nodes, or its highest term is no small correction.
    """
    mesh, (jumping, lower, upper) = arc.arc.mesh, bounded_jumping(arc.arc)
    if not len(jumping):
        return np.zeros(len(mesh.degrees), dtype=bool)
    width = upper - lower
    fractions = np.concatenate((mesh.breaks[:-1], mesh.between()))
    values = arc.control_at(fractions)[:, jumping]
    beyond = (np.maximum(lower - values, values - upper) > SLACK * width).any(axis=1)
    found = np.bincount(mesh.locate(fractions)[beyond], minlength=len(mesh.degrees)) > 0
    starts = mesh.starts()
    for k, degree in enumerate(mesh.degrees):
        if degree > 2 and not mesh.straight[k]:
            own = arc.controls[starts[k] : starts[k + 1], jumping]
            found[k] |= bool((np.abs(_highest(degree) @ own) > ROUGH * width).any())
    return np.asarray(found)


def bounded_jumping(arc: Arc) -> tuple[Index, Array, Array]:
    """Places of the controls that may jump and have two bounds to jump between; the bounds."""
    places = np.array(arc.model.may_jump, dtype=int)
    bounds = arc.control_bounds or Bounds.free(len(arc.model.controls))
    lower, upper = np.array(bounds.lower)[places], np.array(bounds.upper)[places]
    between = (lower < upper) & np.isfinite(upper - lower)
    return places[between], lower[between], upper[between]


@lru_cache(maxsize=32)
def _highest(degree: int) -> Array:
    """(degree,) row that turns a control's values at the nodes into its last Legendre term."""
    from numpy.polynomial import legendre

    values = legendre.legvander(2.0 * radau(degree).points - 1.0, degree - 1)
    return np.asarray(np.linalg.inv(values)[-1])


def ramp_lengths(arc: ArcSolution) -> Array:
    """(intervals,) width of the marked intervals times the change of a jumping control in them.

    As fractions of the arc and of the width of the control's bounds.
    """
    mesh, (jumping, lower, upper) = arc.arc.mesh, bounded_jumping(arc.arc)
    if not (len(jumping) and any(mesh.straight)):
        return np.zeros(len(mesh.degrees))
    begin = arc.control_at(np.array(mesh.breaks[:-1]))[:, jumping]
    end = arc.control_at(np.nextafter(mesh.breaks[1:], 0.0))[:, jumping]
    change = (np.abs(end - begin) / (upper - lower)).max(axis=1, initial=0.0)
    return np.where(mesh.straight, change * mesh.widths, 0.0)

"""A name for every constraint and variable: quantity, arc, fraction of the arc, unit."""

from __future__ import annotations

import numpy as np

from ascentopt.collocation.model import Quantity
from ascentopt.collocation.nlp.layout import ArcLayout, Layout
from ascentopt.collocation.nlp.ramps import Ramps
from ascentopt.collocation.problem import Arc, Problem


def row_name(problem: Problem, layout: Layout, row: int) -> str:
    """Say which constraint stands in row ``row`` of g."""
    for arc, place in zip(problem.arcs, layout.arcs, strict=True):
        local = row - place.first_row
        if 0 <= local < place.rows:
            return _node_row_name(arc, place, local)
    if row in layout.duration_rows:
        first, last = layout.timed[int(row - layout.duration_rows[0])]
        names = " + ".join(repr(arc.name) for arc in problem.arcs[first:last])
        return f"duration of {names} [{problem.time.unit}]"
    if row >= layout.first_ramp_row:
        return _ramp_name(problem, layout, row)
    quantities = [q for condition in problem.conditions for q in condition.quantities]
    return f"condition {_label(quantities[int(row - layout.condition_rows[0])])}"


def variable_name(problem: Problem, layout: Layout, variable: int) -> str:
    """Say what stands in entry ``variable`` of x."""
    for arc, place in zip(problem.arcs, layout.arcs, strict=True):
        local = variable - place.first_variable
        if 0 <= local < place.states:
            return f"{_label(arc.model.variables[local])} at the start of arc {arc.name!r}"
        if 0 <= local < place.variables:
            node, entry = divmod(local - place.states, place.width)
            quantity = (*arc.model.variables, *arc.model.controls)[entry]
            return f"{_label(quantity)} {_where(arc, node)}"
    if variable in layout.instants:
        return f"instant {int(np.argmax(layout.instants == variable))} [{problem.time.unit}]"
    return _label(problem.free[int(variable - layout.free_variables[0])])


def _ramp_name(problem: Problem, layout: Layout, row: int) -> str:
    ramps = Ramps.of(problem.structure(), layout)
    places = dict(np.vstack((ramps.inner, ramps.starts)).tolist())
    return f"straightness of {variable_name(problem, layout, places[row])}"


def _node_row_name(arc: Arc, place: ArcLayout, local: int) -> str:
    node, entry = divmod(local, place.height)
    if entry < place.states:
        return f"rate of {_label(arc.model.variables[entry])} {_where(arc, node)}"
    return f"limit {_label(arc.model.path[entry - place.states])} {_where(arc, node)}"


def _label(quantity: Quantity) -> str:
    return f"{quantity.name} [{quantity.unit}]" if quantity.unit else quantity.name


def _where(arc: Arc, node: int) -> str:
    return f"in arc {arc.name!r} at fraction {arc.mesh.fractions()[node]:.4f}"

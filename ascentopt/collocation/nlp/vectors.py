"""From problems and guesses to the program's vectors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.coordinates import coordinates_of
from ascentopt.collocation.guess import ArcGuess, Duals, Guess, interpolate
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.model import Bounds, Quantity
from ascentopt.collocation.nlp.layout import ArcLayout, Layout
from ascentopt.collocation.nlp.ramps import Ramps
from ascentopt.collocation.problem import Arc, Problem
from ascentopt.collocation.solution import ArcSolution, Solution
from ascentopt.errors import InputError


def scales_of(quantities: tuple[Quantity, ...]) -> Array:
    """(len(quantities),) sizes."""
    return np.array([quantity.scale for quantity in quantities], dtype=float)


@dataclass(frozen=True, eq=False)
class Limits:
    """Bounds of the program's variables and constraints."""

    lbx: Array
    ubx: Array
    lbg: Array
    ubg: Array


def condition_scales(problem: Problem) -> Array:
    """Scales of all scalar conditions in order."""
    return scales_of(tuple(q for c in problem.conditions for q in c.quantities))


def parameter_vector(problem: Problem) -> Array:
    """The vector p of the layout's docstring."""
    parts: list[Array] = []
    for arc in problem.arcs:
        mesh = arc.mesh
        parts += [mesh.fractions(), mesh.node_widths(), np.array(arc.parameters), arc.scales]
    parts += [np.array(problem.parameter_values), condition_scales(problem)]
    objective = problem.objective
    parts += [np.array([objective.sign * objective.quantity.scale, problem.time.scale])]
    return np.concatenate([*parts, scales_of(problem.free)]).astype(float)


def variable_scales(problem: Problem, layout: Layout) -> Array:
    """(variables,) physical size of one scaled unit of each variable."""
    scales = np.ones(layout.variables)
    for arc, place in zip(problem.arcs, layout.arcs, strict=True):
        scales[place.start] = arc.scales
        scales[place.node_variables] = np.concatenate((arc.scales, scales_of(arc.model.controls)))
    scales[layout.instants] = problem.time.scale
    scales[layout.free_variables] = scales_of(problem.free)
    return scales


def limits(problem: Problem, layout: Layout) -> Limits:
    """Scaled bounds of x and g."""
    x = np.array([[-np.inf], [np.inf]]) * np.ones(layout.variables)
    g = np.zeros((2, layout.rows))
    for arc, place in zip(problem.arcs, layout.arcs, strict=True):
        _limit_arc(arc, place, x, g)
    x[:, layout.instants] = problem.instants()
    x[:, layout.free_variables] = _pair(problem.free_bounds)
    durations = [(span.shortest, span.longest) for span in problem.timed_spans()]
    g[:, layout.duration_rows] = np.array(durations).reshape(-1, 2).T / problem.time.scale
    conditions = [_pair(condition.bounds) for condition in problem.conditions]
    if conditions:
        g[:, layout.condition_rows] = np.hstack(conditions) / condition_scales(problem)
    x /= variable_scales(problem, layout)
    if layout.ramps:
        starts = Ramps.of(problem.structure(), layout).starts
        g[:, starts[:, 0]] = x[:, starts[:, 1]]
    return Limits(x[0], x[1], g[0], g[1])


def _limit_arc(arc: Arc, place: ArcLayout, x: Array, g: Array) -> None:
    """Write the arc's bounds into (2, variables) x, physical, and (2, rows) g, scaled."""
    n = place.states
    if arc.state_bounds is not None:
        x[:, place.support] = _variable_bounds(arc, arc.state_bounds)[:, None, :]
    if arc.control_bounds is not None:
        x[:, place.node_variables[:, n:]] = _pair(arc.control_bounds)[:, None, :]
    path = arc.path_bounds or Bounds.free(place.path)
    g[:, place.node_rows[:, n:]] = (_pair(path) / scales_of(arc.model.path))[:, None, :]


def _variable_bounds(arc: Arc, bounds: Bounds) -> Array:
    """(2, n) bounds of the program's variables; states that coordinates replace have none."""
    pair, coordinates = _pair(bounds), arc.model.coordinates
    if coordinates is not None:
        lowest = coordinates.lowest(arc.scales)
        pair[:, : len(lowest)] = lowest, np.full(len(lowest), np.inf)
    return pair


def _pair(bounds: Bounds) -> Array:
    return np.array([bounds.lower, bounds.upper], dtype=float).reshape(2, -1)


def check_sizes(problem: Problem, start: Guess | Solution) -> None:
    """Refuse a start made for a problem of other arcs, states, controls or free numbers."""
    counts = [("arcs", len(start.arcs), len(problem.arcs))]
    counts.append(("free numbers", len(start.free), len(problem.free)))
    given: tuple[ArcGuess | ArcSolution, ...] = start.arcs
    for own, arc in zip(given, problem.arcs, strict=False):
        label = f"in arc {arc.name!r}"
        counts.append((f"states {label}", own.states.shape[1], len(arc.model.states)))
        counts.append((f"controls {label}", own.controls.shape[1], len(arc.model.controls)))
    for name, count, expected in counts:
        if count != expected:
            raise InputError(
                f"Start: {count} {name}; the problem has {expected}. Give one for each."
            )


def start_vector(problem: Problem, layout: Layout, guess: Guess | Solution) -> Array:
    """Scaled x of a guess or of another solution, on this problem's meshes."""
    x = np.zeros(layout.variables)
    before: Array | None = None
    given: tuple[ArcGuess | ArcSolution, ...] = guess.arcs
    for arc, place, own in zip(problem.arcs, layout.arcs, given, strict=True):
        fractions = arc.mesh.fractions()
        states = _variables_at(arc, own, np.concatenate(([0.0], fractions)), before)
        before = states[-1] if arc.model.coordinates is not None else None
        x[place.start] = states[0]
        x[place.node_variables] = np.hstack((states[1:], own.control_at(fractions)))
    x[layout.instants] = guess.instants
    x[layout.free_variables] = guess.free
    return x / variable_scales(problem, layout)


def _variables_at(
    arc: Arc, own: ArcGuess | ArcSolution, fractions: Array, before: Array | None
) -> Array:
    """(k, n) states at fractions, or what they are told in, turns counted on from ``before``.

    A guess is a line between its places in what the arc is told in: chords of an orbit are no
    orbit, and their elements not those that stay as they are.
    """
    coordinates = arc.model.coordinates
    if coordinates is None:
        return own.state_at(fractions)
    if isinstance(own, ArcGuess):
        return interpolate(
            fractions, own.fractions, coordinates_of(coordinates, own.states, before)
        )
    return coordinates_of(coordinates, own.state_at(fractions), before)


def dual_vectors(problem: Problem, layout: Layout, duals: Duals) -> tuple[Array, Array]:
    """Multipliers (lam_g, lam_x) of another mesh's solution on this problem's meshes."""
    lam_g, lam_x = np.zeros(layout.rows), np.zeros(layout.variables)
    for arc, place, own in zip(problem.arcs, layout.arcs, duals.arcs, strict=True):
        fractions, weights = arc.mesh.fractions(), arc.mesh.weights()[:, None]
        local = local_weights(arc)[:, None]
        scale = np.where(np.arange(place.height) < place.states, local, weights)
        lam_g[place.node_rows] = interpolate(fractions, own.fractions, own.rows) * scale
        density = interpolate(fractions, own.fractions, own.variables)
        lam_x[place.node_variables] = density * weights
        lam_x[place.start] = own.start
    lam_g[layout.duration_rows] = [duals.durations.get(k, 0.0) for k in layout.timed]
    lam_g[layout.condition_rows] = duals.conditions
    lam_x[layout.instants] = duals.instants
    lam_x[layout.free_variables] = duals.free
    return lam_g, lam_x


def local_weights(arc: Arc) -> Array:
    """(N,) quadrature weights on each interval's own unit coordinate.

    A defect is written in the interval's coordinate, so its multiplier is this weight times the
    costate; a path multiplier is a density over the arc and takes the arc's weights.
    """
    return np.concatenate([scheme.weights for scheme in arc.mesh.schemes()])

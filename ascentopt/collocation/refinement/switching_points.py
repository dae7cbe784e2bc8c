"""Where a jumping control reaches or leaves a bound: found, and put into narrow intervals.

A limit begins to hold there, or ends to. The control has a corner, or a jump, and what is lost in
the interval that hides it depends on where within it the corner lies. So the cost is wrong by
little, of the second order of the interval's width, but the price of a number that moves the
corner by more: of the first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ascentopt.collocation.mesh.mesh import RadauMesh
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.ramps import bounded_jumping
from ascentopt.collocation.refinement.refinement import (
    Refinement,
    path_margins,
    remeshed,
    solved_on,
)
from ascentopt.collocation.solution import ArcSolution, NotConverged, Solution
from ascentopt.collocation.solver.solver import SolverSettings

AT, SMEARED, MOST = 1e-3, 0.01, 5.0
"""Distance from a bound, as a fraction of what lies between the bounds, that is none. In intervals
narrower than the second, a fraction of the arc, it grows as one over their width, by the third at
most: a bound's multipliers are as small as they are narrow there, and the barrier keeps the control
away the more."""

PIECES = 4
"""Of an interval at a corner, in one round: with four, three rounds take 20 s to 0.3."""

WORTH = 1e-6
"""Of the objective, what a round must change it by for another. Where prices were wrong by more
than a per cent the first round changed it by 1e-5 to 2e-4; rounds that change it by less go after
what the barrier smears, and have it change to the worse."""

SHORT, FEW = 0.01, 3
"""Of an arc, and points that do in a piece not longer than that: what flies has no time to turn."""


EVEN, TOUCHED = 0.2, 1e-3
"""Of the tolerance for path limits, what a straight control may miss its limit by within an
interval; and, in the limit's scale, how near a node comes to one that is reached."""


def corners(arc: ArcSolution) -> NDArray[np.bool_]:
    """(intervals,) whether a jumping control reaches or leaves a bound in it, or beside it.

    Where it does so between two intervals both are meant: a straight control hides on which side.
    """
    mesh, side = arc.arc.mesh, _sides(arc)
    found = np.zeros(len(mesh.degrees), dtype=bool)
    changes = np.flatnonzero((np.diff(side, axis=0) != 0).any(axis=1))
    owner = np.repeat(np.arange(len(mesh.degrees)), mesh.degrees)
    found[owner[changes]] = found[owner[changes + 1]] = True
    return found


def _sides(arc: ArcSolution) -> NDArray[np.int_]:
    """(nodes, jumping controls) 1 at the upper bound, -1 at the lower, 0 between."""
    jumping, lower, upper = bounded_jumping(arc.arc)
    share = (arc.controls[:, jumping] - lower) / (upper - lower)
    at = AT * np.clip(SMEARED / arc.arc.mesh.node_widths(), 1.0, MOST)[:, None]
    return np.where(share > 1.0 - at, 1, np.where(share < at, -1, 0))


def _reached(arc: ArcSolution) -> NDArray[np.bool_]:
    """(intervals,) whether a path limit is reached at a node of it."""
    starts, bounds = arc.arc.mesh.starts()[:-1], arc.arc.path_bounds
    if bounds is None:
        return np.zeros(len(starts), dtype=bool)
    scales = np.array([quantity.scale for quantity in arc.arc.model.path])
    lower, upper = np.array(bounds.lower), np.array(bounds.upper)
    near = np.minimum(arc.path - lower, upper - arc.path) < TOUCHED * scales
    near &= lower < upper
    near[:, list(arc.arc.model.nodes_only)] = False
    return np.asarray(np.logical_or.reduceat(near.any(axis=1), starts))


def slack(arc: ArcSolution) -> Array:
    """(intervals,) how unevenly a straight control between its bounds keeps to a limit.

    In the limit's scale: the chord of a curve, or a jump from one limited value to another. Zero
    where no limit is reached.
    """
    mesh, between = arc.arc.mesh, (_sides(arc) == 0).any(axis=1)
    held = np.logical_and.reduceat(between, mesh.starts()[:-1]) & np.array(mesh.straight)
    held &= _reached(arc)
    if not held.any():
        return np.zeros(len(held))
    pairs = zip(held, path_margins(arc), strict=True)
    return np.array([np.ptp(own) if keeps else 0.0 for keeps, own in pairs])


def mesh_with_narrow_corners(arc: ArcSolution, rule: Refinement) -> RadauMesh:
    """The arc's mesh with the intervals at corners cut, and made straight, and slack ones cut."""
    mesh, found = arc.arc.mesh, corners(arc)
    loose = slack(arc) / (EVEN * rule.path_tolerance)
    wanted = np.where(found, np.ceil(mesh.widths / rule.widest_corner), np.ceil(np.sqrt(loose)))
    cut = (wanted > 1.0) & (mesh.widths > rule.widest_corner)
    if not cut.any():
        return mesh
    pieces = np.where(cut, np.clip(wanted, 2, PIECES), 1).astype(int)
    cuts = zip(mesh.breaks, mesh.breaks[1:], pieces, strict=False)
    inner = [np.linspace(left, right, count + 1)[1:] for left, right, count in cuts]
    short = cut & (mesh.widths / pieces < SHORT)
    degrees = np.where(short, np.minimum(mesh.degrees, FEW), mesh.degrees)
    return RadauMesh(
        breaks=(0.0, *np.concatenate(inner)[:-1], 1.0),
        degrees=tuple(np.repeat(degrees, pieces)),
        straight=tuple(np.repeat(found & cut | np.array(mesh.straight), pieces)),
    )


def refine_switching_points(
    solution: Solution, rule: Refinement, rounds: int, settings: SolverSettings = SolverSettings()
) -> Solution:
    """Solve again until every corner lies in intervals as narrow as the rule asks for.

    Or until that is worth nothing, or the rounds are spent: a jump that only a weak multiplier
    keeps in its place is smeared by the barrier, the more the narrower the intervals are.

    Raises:
        NotConverged: from a solve; carries the solution before it.
    """
    for _ in range(rounds):
        meshes = tuple(mesh_with_narrow_corners(arc, rule) for arc in solution.arcs)
        if meshes == tuple(arc.arc.mesh for arc in solution.arcs):
            break
        before = solution
        try:
            solution = solved_on(remeshed(before.problem, meshes), before, settings.settled)
        except NotConverged as failure:
            failure.solved = before
            raise
        if abs(solution.objective - before.objective) < WORTH * abs(before.objective):
            break
    return solution

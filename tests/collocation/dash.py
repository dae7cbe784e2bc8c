"""From rest to rest in the least time: where one control jumps or has a corner."""

from __future__ import annotations

from ascentopt.collocation import Arc, Bounds, Guess, Model, Objective, Problem, Quantity, RadauMesh
from tests.collocation.problems import LastInstant, ends_at, starts_at, straight_line


def dash(kind: Model, mesh: RadauMesh, path_bounds: Bounds | None = None) -> Problem:
    """A model of two states, place and speed, over a distance of one."""
    arc = Arc(
        name="dash",
        model=kind,
        mesh=mesh,
        duration=(0.1, 9.0),
        control_bounds=Bounds(lower=(-1.0,), upper=(2.0,)),
        path_bounds=path_bounds,
    )
    ends = ends_at(kind.states, 0, {0: 1.0, 1: 0.0})
    return Problem(
        arcs=(arc,),
        conditions=(starts_at(kind.states, (0.0, 0.0)), ends),
        objective=Objective(quantity=Quantity("time"), expression=LastInstant()),
    )


def start(of: Problem) -> Guess:
    return straight_line(of, [0.0, 2.0], [[0.0, 0.0], [1.0, 0.0]], [[0.1]])

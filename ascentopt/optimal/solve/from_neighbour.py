"""From the solution for another vehicle or mission, with its plan and meshes."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.solve.relaxed_tank import (
    RELAXED_TANK,
    can_relax_tank,
    measured_by_own_tank,
    with_relaxed_tank,
)
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task


def solve_from_neighbour(task: Task, attempt: Attempt) -> Attempt:
    """Solve from an attempt at another vehicle or mission, with its multipliers.

    The limits hold on the arcs where they did; `impose_limits` looks for further ones. Where that
    leads nowhere a tank that may be overdrawn is tried: it may be too small on the way.
    """
    solver = StructureSolver.resumed(task, replace(attempt, history=()))
    found = solver.solve_with_multipliers_of(attempt)
    if found is None and can_relax_tank(task.vehicle) and not attempt.plan.unlit:
        begun = replace(attempt, history=(*solver.history, RELAXED_TANK))
        relaxed = StructureSolver.resumed(with_relaxed_tank(task), begun)
        overdrawn = relaxed.solve_with_multipliers_of(attempt, all_iterations=True)
        found = None if overdrawn is None else measured_by_own_tank(task, overdrawn)
        solver = StructureSolver.resumed(task, replace(attempt, history=relaxed.history))
    if found is not None:
        return found
    return solver.solve_from_guess(
        task.mission.limits, attempt.limited_arcs, attempt.found.as_guess()
    )

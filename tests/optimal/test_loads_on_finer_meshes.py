"""Loads that a first mesh tells some per cent too low are held to their limits on the last one."""

from __future__ import annotations

from dataclasses import replace

import ascentopt as ao
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import refined_within_limits
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.violations import loads
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.task import Task
from ascentopt.units import deg, kPa


def draggy_launcher(q_alpha: float | None) -> Task:
    """Twice the usual area: drag leaves the vehicle little angle of attack, at a high pressure."""
    scenario = ao.scenarios()["earth-boosters"]
    vehicle, shape = scenario.vehicle, scenario.vehicle.aerodynamics
    assert shape is not None
    wide = replace(shape, reference_area=2.0 * shape.reference_area)
    limits = replace(ao.FlightLimits.none(), q_alpha=q_alpha)
    mission = replace(scenario.mission, limits=limits)
    return task_of(
        replace(vehicle, aerodynamics=wide, payload_mass=0.7 * vehicle.payload_mass), mission
    )


def coarse(task: Task) -> Attempt:
    return impose_limits(task, attempt_at(task, direct(task.vehicle)))


def q_alpha(attempt: Attempt) -> float:
    return max(load.q_alpha for load in loads(attempt.found, attempt.sequence))


def test_a_limit_that_the_first_mesh_keeps_by_itself_is_kept_on_the_last() -> None:
    free = coarse(draggy_launcher(None))
    limit = q_alpha(free) / 0.97  # far enough above for no arc to be watched
    task = draggy_launcher(limit)
    begun = coarse(task)
    assert begun.keeps_limits
    assert not begun.limited_arcs
    most = (1.0 + task.refinement.path_tolerance) * limit
    assert q_alpha(refine_mesh(task, begun)) > most
    found = refined_within_limits(task, begun)
    assert found.flies
    assert found.refined
    assert q_alpha(found) <= most


def test_where_the_last_mesh_keeps_them_too_nothing_is_solved_again() -> None:
    task = draggy_launcher(1e3 * kPa * deg)
    begun = coarse(task)
    found, plain = refined_within_limits(task, begun), refine_mesh(task, begun)
    assert found.history == plain.history
    assert found.found.objective == plain.found.objective

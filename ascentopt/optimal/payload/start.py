"""Where the search for the greatest payload begins: a payload that usual ascents carry."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.impulsive import check_bound, usual_delta_v
from ascentopt.optimal.bounds.inserting_stages import inserting_stages_in_turn
from ascentopt.optimal.bounds.lift_off import check_lift_off
from ascentopt.optimal.explain.payload_climb import AMPLE, SPARE, ideal_delta_v, payload_with
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.optimize import with_inserting_stage
from ascentopt.optimal.solve.impose_limits import impose_limits_directly
from ascentopt.optimal.solve.outcome import Unsolved
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.structure.imposed_limits import best_first, limits_imposed_in_turn
from ascentopt.optimal.task import Task


def usual_payload(task: Task, reserve: float) -> float:
    """Payload in kg with the ideal delta-v that few ascents do with less than, a reserve left."""
    limit, vehicle = task.acceleration_limit, replace(task.vehicle, payload_mass=0.0)
    gain = usual_delta_v(task.mission) - ideal_delta_v(vehicle, reserve, limit)
    return payload_with(vehicle, gain, reserve, limit) or 0.0


def lighter_payload(task: Task, attempts: list[Attempt], reserve: float) -> float:
    """Payload in kg that gains amply what the nearest attempt lacks; half where none knows."""
    known = [one.shortfall for one in attempts if one.shortfall is not None]
    payload, limit = task.vehicle.payload_mass, task.acceleration_limit
    if not known:
        return 0.5 * payload
    gain = AMPLE * min(known) + SPARE
    return min(payload_with(task.vehicle, gain, reserve, limit) or 0.0, 0.9 * payload)


def may_fly(task: Task) -> bool:
    """Whether nothing is known against it before anything is solved."""
    try:
        check_lift_off(task.vehicle, task.mission)
        check_bound(task.vehicle, task.mission)
    except (InputError, InfeasibleAscent):
        return False
    return True


def structures_within_limits(task: Task) -> AttemptsInTurn[list[Attempt]]:
    """All structures within the limits, the best one first, with a tank that may be overdrawn."""
    roomy, attempts = with_relaxed_tank(task), list[Attempt]()
    for stage in inserting_stages_in_turn(task.vehicle, task.mission):
        attempts = yield from with_inserting_stage(roomy, attempts, stage)
        attempts = yield from limits_imposed_in_turn(roomy, attempts)
    return best_first(attempts)


def solved_again(task: Task, attempt: Attempt) -> Attempt:
    """An attempt at another payload, from its flight; it stands where it has none."""
    if not (attempt.reached and attempt.keeps_limits):
        return replace(attempt, sequence=task.arcs_of(attempt.plan))
    solver = StructureSolver.resumed(task, attempt)
    found = solver.solve_with_multipliers_of(attempt)
    kept = None if found is None else impose_limits_directly(task, found)
    if kept is not None:
        return kept
    return solver.attempt_of(Unsolved(), solver.flight)

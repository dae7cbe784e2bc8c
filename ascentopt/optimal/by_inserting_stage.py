"""Structures of all stages that may insert, one stage after another."""

from __future__ import annotations

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.inserting_stages import inserting_stages_in_turn
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.limits_in_turn import best_first, limits_imposed_in_turn
from ascentopt.optimal.task import Task


def with_inserting_stage(
    task: Task, attempts: list[Attempt], stage: int
) -> AttemptsInTurn[list[Attempt]]:
    """The attempts with one after another in which a stage inserts, without limits on loads."""
    for one in structures_without_load_limits(task, attempts, stage):
        attempts = [*attempts, one]
        yield attempts
    return attempts


def structures_within_limits(task: Task) -> AttemptsInTurn[list[Attempt]]:
    """All structures within the limits, the best one first, with a tank that may be overdrawn."""
    roomy, attempts = with_relaxed_tank(task), list[Attempt]()
    for stage in inserting_stages_in_turn(task.vehicle, task.mission):
        attempts = yield from with_inserting_stage(roomy, attempts, stage)
        attempts = yield from limits_imposed_in_turn(roomy, attempts)
    return best_first(attempts)

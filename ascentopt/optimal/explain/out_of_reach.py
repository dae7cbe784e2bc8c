"""What is out of reach, seen before every start of every structure is tried.

Where nothing arrives most solves stray, since hardly anything is a flight there. The flights of a
lighter vehicle are found at once, and the heaviest one's says what is missing.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from math import sqrt

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.bounds.inserting_stages import inserting_stages_in_turn
from ascentopt.optimal.bounds.unburned import ideal_delta_v_within
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight
from ascentopt.optimal.explain.refusal import too_heavy
from ascentopt.optimal.solve.fairing_drop_attempts import NEAR_MISS
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.task import Task

LEAST_LOSSES_IN_AIR, LEAST_LOSSES_WITHOUT_AIR = 0.15, 0.07
"""Of the speed of a circle at the ground, what few ascents lose less than, turns of plane aside.
With less than 1.15 times the impulses of an ascent no stage of 300 cases reached its orbit through
air, without air one did with 1.07."""


def seen_in_haste(
    task: Task,
) -> Generator[list[Attempt], None, HeaviestFlight | Attempt | None]:
    """The heaviest flight of a vehicle with little speed for its orbit, or one with what was asked.

    None where the vehicle has speed enough, or a structure arrives from its first start. Nothing is
    lost then: what was solved is remembered. Yields the attempts so far.

    Raises:
        InfeasibleAscent: where the heaviest payload is far from the one asked.
    """
    if task.exhaustive or not _has_little_speed(task):
        return None
    hasty, attempts = task.in_haste(), list[Attempt]()
    first, *others = inserting_stages_in_turn(task.vehicle, task.mission)
    for stage in dict.fromkeys((first, *others[-1:])):
        for one in structures_without_load_limits(hasty, attempts, stage):
            attempts = [*attempts, one]
            yield attempts
            if one.reached:
                return None
    known = heaviest_flight(hasty, attempts)
    if isinstance(known, HeaviestFlight) and known.shortfall > NEAR_MISS:
        raise too_heavy(task, attempts, known)
    return known


def _has_little_speed(task: Task) -> bool:
    """Whether a flight that arrives would be a rare one: it loses less than most.

    What is lost is lost on the way up, and hardly depends on the orbit.
    """
    body = task.mission.body
    circular = sqrt(body.gravitational_parameter / body.radius)
    losses = LEAST_LOSSES_IN_AIR if body.atmosphere is not None else LEAST_LOSSES_WITHOUT_AIR
    limit = task.mission.limits.axial_acceleration
    able = ideal_delta_v_within(replace(task.vehicle, fairing=None), limit)
    return bool(able < impulsive_bound(task.mission) + losses * circular)

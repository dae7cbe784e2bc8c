"""What is out of reach, seen before every start of every structure is tried.

Where nothing arrives most solves stray, since hardly anything is a flight there. The flights of a
lighter vehicle are found at once, and the heaviest one's says what is missing.
"""

from __future__ import annotations

from dataclasses import replace

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.impulsive import usual_delta_v
from ascentopt.optimal.bounds.unburned import ideal_delta_v_within
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight
from ascentopt.optimal.explain.refusal import too_heavy
from ascentopt.optimal.solve.fairing_drop_attempts import NEAR_MISS
from ascentopt.optimal.solve.impose_limits import impose_limits_directly
from ascentopt.optimal.solve.relaxed_tank import by_own_tank, with_relaxed_tank
from ascentopt.optimal.structure.imposed_limits import best_first
from ascentopt.optimal.task import Task


def seen_in_haste(task: Task) -> HeaviestFlight | Attempt | None:
    """The heaviest flight of a vehicle with little speed for its orbit, or one with what was asked.

    None where the vehicle has speed enough, or nothing lighter is seen to fly.

    Raises:
        InfeasibleAscent: where the heaviest payload is far from the one asked.
    """
    if task.exhaustive or not _has_little_speed(task):
        return None
    return _known_or_far_away(task, [])


def falls_far_short(task: Task, attempts: list[Attempt]) -> bool:
    """Whether all that is known of attempts with a tank that may be overdrawn is far too short."""
    told = (by_own_tank(task, one).shortfall for one in attempts)
    return min((one for one in told if one is not None), default=0.0) > NEAR_MISS


def seen_without_limits(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """The same of a vehicle of which no attempt comes near, limits on loads aside.

    Limits only cost speed: none is imposed on what would have to be far lighter, but on the
    nearest. None where one comes near, or the vehicle has been looked at before.

    Args:
        attempts: without limits on loads, with a tank that may be overdrawn.
    """
    if task.exhaustive or _has_little_speed(task) or not falls_far_short(task, attempts):
        return None
    nearest, *others = best_first(attempts)
    if nearest.reached and not nearest.keeps_limits:
        nearest = impose_limits_directly(with_relaxed_tank(task.in_haste()), nearest)
    return _known_or_far_away(task, [by_own_tank(task, one) for one in (nearest, *others)])


def _known_or_far_away(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    known = heaviest_flight(task, attempts)
    if isinstance(known, HeaviestFlight) and known.shortfall > NEAR_MISS:
        raise too_heavy(task, attempts, known)
    return known


def _has_little_speed(task: Task) -> bool:
    """Whether a flight that arrives would be a rare one: it loses less than most."""
    able = ideal_delta_v_within(replace(task.vehicle, fairing=None), task.acceleration_limit)
    return able < usual_delta_v(task.mission)

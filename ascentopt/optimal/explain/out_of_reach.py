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
from ascentopt.optimal.task import Task

NEAR_MISS = 100.0
"""m/s that another start may make up: two local optima of one structure, or two places for the
fairing's drop, differ by as much."""


def seen_in_haste(task: Task) -> HeaviestFlight | Attempt | None:
    """The heaviest flight of a vehicle with little speed for its orbit, or one with what was asked.

    None where the vehicle has speed enough, or nothing lighter is seen to fly.

    Raises:
        InfeasibleAscent: where the heaviest payload is far from the one asked.
    """
    if task.exhaustive or not _has_little_speed(task):
        return None
    known = heaviest_flight(task, [])
    if isinstance(known, HeaviestFlight) and known.shortfall > NEAR_MISS:
        raise too_heavy(task, [], known)
    return known


def _has_little_speed(task: Task) -> bool:
    """Whether a flight that arrives would be a rare one: it loses less than most."""
    able = ideal_delta_v_within(replace(task.vehicle, fairing=None), task.acceleration_limit)
    return able < usual_delta_v(task.mission)

"""What the flight with the greatest payload says: what is missing, and what limits give."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.optimal.bounds.unburned import kept_unburned
from ascentopt.optimal.explain.diagnosis import NOTHING, Diagnosis, EasedAcceleration, Relief
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight
from ascentopt.optimal.perturbations import Case, variations
from ascentopt.optimal.result.closed_loop import trajectory_of
from ascentopt.optimal.result.partials import partials_of
from ascentopt.optimal.task import Task


def diagnosis_by_payload(task: Task, known: HeaviestFlight) -> Diagnosis:
    """What is missing, the payload that flies, and the limits that hold it."""
    case = Case(known.vehicle, known.mission)
    return Diagnosis(
        shortfall=known.shortfall,
        payload=known.payload if known.acceleration is None else None,
        eased=_eased(task, known),
        relief=tuple(sorted(_reliefs(case, known), key=lambda one: -one.gain)),
        trajectory=trajectory_of(case, known.attempt),
    )


def _eased(task: Task, known: HeaviestFlight) -> EasedAcceleration | None:
    """What flies within another limit on acceleration, where nothing was seen to within its own."""
    limit = task.acceleration_limit
    if known.acceleration is None or limit is None:
        return None
    kept = tuple(kept_unburned(replace(task.vehicle, payload_mass=known.payload), limit))
    return EasedAcceleration(limit=known.acceleration, payload=known.payload, unburned=kept)


def _reliefs(case: Case, known: HeaviestFlight) -> Iterator[Relief]:
    """Limits that act, by their partials: kg left turned into m/s by the rocket equation."""
    attempt = known.attempt
    stage = attempt.plan.inserting_stage
    speed = case.vehicle.stages[stage].engine.exhaust_speed / attempt.final_mass
    limits = {one.quantity: one.limit for one in variations(case) if one.limit is not None}
    for partial in partials_of(case, attempt):
        limit = limits.get(partial.quantity)
        if limit is not None and partial.margin * speed * limit > NOTHING:
            yield Relief(limit=partial.quantity, unit=partial.unit, gain=partial.margin * speed)

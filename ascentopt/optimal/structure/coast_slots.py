"""Plans with so many coasts: before a stage is lit, or between two burns of one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.mission import Mission
from ascentopt.rocket import SolidMotor, Vehicle


@dataclass(frozen=True, order=True)
class Slot:
    """A place for a coast: before a stage's first burn, or before one of its later ones."""

    stage: int
    again: int = 0


def slots(vehicle: Vehicle, mission: Mission, inserting: int) -> list[Slot]:
    """Every place for a coast up to the insertion by a stage, in the order of flight."""
    found = [Slot(stage) for stage in range(1, inserting + 1)]
    for stage in range(inserting + 1):
        kept = restarts_kept(mission) if stage == inserting else 0
        found += [Slot(stage, 1 + again) for again in range(vehicle.stages[stage].restarts - kept)]
    return sorted(found)


def plans_with_coasts(
    vehicle: Vehicle, mission: Mission, inserting: int, count: int
) -> Iterator[FlightPlan]:
    """Plans with ``count`` coasts, those that use later stages' relights last."""
    for chosen in combinations(slots(vehicle, mission, inserting), count):
        if all(_comes_after_the_others(slot, chosen) for slot in chosen):
            yield _plan(vehicle, inserting, chosen)


def _comes_after_the_others(slot: Slot, chosen: tuple[Slot, ...]) -> bool:
    """Whether a stage's relights are taken in turn."""
    return slot.again < 2 or replace(slot, again=slot.again - 1) in chosen


def _plan(vehicle: Vehicle, inserting: int, chosen: tuple[Slot, ...]) -> FlightPlan:
    again = [slot.stage for slot in chosen if slot.again]
    return replace(
        direct(vehicle, inserting),
        coast_before=tuple(slot.stage for slot in chosen if not slot.again),
        restarts=again.count(inserting),
        relit=tuple(stage for stage in again if stage < inserting),
    )


def before_the_first_coast(vehicle: Vehicle, plan: FlightPlan) -> FlightPlan:
    """The plan of the flight up to its first coast, as an insertion of its own."""
    before = [stage - 1 for stage in plan.coast_before]
    again = list(plan.relit) + [plan.inserting_stage] * (plan.restarts > 0)
    last = min([*before, *again])
    return replace(
        direct(vehicle, last),
        cut_early=tuple(stage for stage in plan.cut_early if stage < last),
        throttling=tuple(stage for stage in plan.throttling if stage <= last),
        fairing_arc=None,
        southward=plan.southward,
    )


def can_be_cut_off(vehicle: Vehicle, stage: int) -> bool:
    """Whether a stage has an engine that can be shut down."""
    return not isinstance(vehicle.stages[stage].engine, SolidMotor)

"""Attempts at flights by a parking orbit, one for each way to place the coasts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.bounds.inserting_stages import delta_v_carrying_upper_stages
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.parking_orbit import (
    Impulse,
    below_the_latitude,
    impulses,
    mission_to_parking_circle,
    wants_parking,
    with_burns_at,
    with_early_end,
)
from ascentopt.optimal.warm_start.remap import on_sequence
from ascentopt.optimal.warm_start.transfer_to_node import (
    Transfer,
    impulse_at_node,
    mission_to_transfer,
    transfer_to_node,
)
from ascentopt.rocket import SolidMotor, Vehicle

COASTS = (1, 2)
"""On the way from the circle to the orbit: one impulse turns the plane, two change the height."""


def by_parking_orbit(task: Task, stage: int) -> Iterator[Attempt]:
    """Flights in which a stage inserts, with one or two coasts after a low circle.

    Every way to place the coasts, but for those in which the stages below the first coast have less
    speed than the circle takes. With one coast to a plane below the latitude there is a second way:
    by a transfer whose far end is the node.
    """
    circles = _Circles(task)
    for coasts in COASTS:
        for plan in plans_with_coasts(task.vehicle, task.mission, stage, coasts):
            found = _by_the_circle(task, plan, coasts, circles)
            if found is not None:
                yield found
            if coasts == 1 and below_the_latitude(task.mission):
                turned = _turned_far_out(task, plan, circles)
                if turned is not None:
                    yield turned


def through_the_circle(task: Task, plan: FlightPlan) -> Attempt | None:
    """One plan by a low circle; None where no circle leads to it."""
    coasts = len(plan.coast_before) + len(plan.relit) + plan.restarts
    if not wants_parking(task.mission) or coasts not in COASTS:
        return None
    return _by_the_circle(task, plan, coasts, _Circles(task))


class _Circles:
    """Flights into the parking circle, each solved for once: several plans go on from one."""

    def __init__(self, task: Task) -> None:
        self._task = task
        self._solved: dict[tuple[FlightPlan, int], Attempt | None] = {}
        self._transfers: dict[FlightPlan, Transfer | None] = {}

    def reached_by(self, below: FlightPlan, coasts: int) -> Attempt | None:
        """The flight of the stages below the first of so many coasts; None where there is none."""
        if (below, coasts) not in self._solved:
            self._solved[below, coasts] = _into_the_circle(self._task, below, coasts)
        return self._solved[below, coasts]

    def transfer_after(self, below: FlightPlan) -> Transfer | None:
        """The cheapest transfer to the node after those stages' low circle, if there is one."""
        if below not in self._transfers:
            circle = self.reached_by(below, max(COASTS))
            self._transfers[below] = None if circle is None else self._transfer(circle)
        return self._transfers[below]

    def _transfer(self, circle: Attempt) -> Transfer | None:
        pad, end = (circle.found.arcs[k].states[k] for k in (0, -1))
        return transfer_to_node(self._task.mission, pad[:3], end, circle.sequence.arcs[-1])


def _by_the_circle(task: Task, plan: FlightPlan, coasts: int, circles: _Circles) -> Attempt | None:
    below = before_the_first_coast(task.vehicle, plan)
    first = circles.reached_by(below, coasts)
    if first is None:
        return None
    told = "from a circle, by impulses between Kepler arcs"
    return _gone_on(
        task, plan, first, lambda state, count: impulses(task.mission, state, count), told
    )


def _turned_far_out(task: Task, plan: FlightPlan, circles: _Circles) -> Attempt | None:
    """By a transfer that begins in a plane of its own and ends where that meets the orbit's."""
    below = before_the_first_coast(task.vehicle, plan)
    transfer = circles.transfer_after(below)
    mission = None if transfer is None else mission_to_transfer(task.mission, transfer)
    if transfer is None or mission is None:
        return None
    first = attempt_from_first_guess(replace(task, mission=mission), below)
    if not first.reached:
        return None
    told = "from a transfer to the node, by an impulse at its far end"
    return _gone_on(
        task,
        plan,
        first,
        lambda state, _: [impulse_at_node(task.mission, transfer, state)],
        told,
    )


def _gone_on(
    task: Task,
    plan: FlightPlan,
    first: Attempt,
    impulses_from: Callable[[Array, int], list[Impulse]],
    told: str,
) -> Attempt | None:
    """A flight with the rest of a plan after it, solved from there."""
    planned = replace(with_early_end(plan, first.plan), fairing_arc=first.plan.fairing_arc)
    sequence = sequence_of(task.vehicle, task.mission, planned)
    start = with_burns_at(first.found, first.sequence, sequence, task.mission, impulses_from)
    if start is None:
        return None
    lines = (*first.history, told)
    structure_solver = StructureSolver.begun_from(first, task, planned, start.meshes, lines)
    return structure_solver.solve_from_good_guess(on_sequence(sequence, start).guess)


def _into_the_circle(task: Task, below: FlightPlan, coasts: int) -> Attempt | None:
    """The direct insertion into the circle; None where it is not reached."""
    vehicle, stage = task.vehicle, below.inserting_stage
    circle = mission_to_parking_circle(task.mission, vehicle.fairing, coasts)
    if circle is None or not can_be_cut_off(vehicle, stage):
        return None
    if delta_v_carrying_upper_stages(vehicle, stage) < impulsive_bound(circle):
        return None
    first = attempt_from_first_guess(replace(task, mission=circle), below)
    return first if first.reached else None


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

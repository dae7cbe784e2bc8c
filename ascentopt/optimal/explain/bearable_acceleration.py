"""The least limit on acceleration with which a vehicle flies, come down to from one that is loose.

An engine that throttles no further leaves propellant unburned within a tight limit. Where no
payload flies, a flight does within a limit that leaves nothing, and what it has to spare is given
back by a tighter one, each flight begun from the last. What is missing is what the vehicle has
more of ideal delta-v within the limit with which it flies: by no local optimum of the missing
speed, and the less the looser the limit asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.unburned import ideal_delta_v_within, limit_that_leaves_nothing
from ascentopt.optimal.explain.payload_climb import (
    AIM,
    FAILURES,
    LEAST_SLOPE,
    STEPS,
    STRIDE,
    TO_SPARE,
    OwnTank,
    Rung,
    delta_v_left,
)
from ascentopt.optimal.solve.impose_limits import impose_limits
from ascentopt.optimal.structure.early_shutdown import stages_that_must_end_early
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.imposed_limits import best_first
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle

LOOSE = 1.001
"""Times the limit with which every stage burns out: by how much air pushes back, or drag, no stage
is to end early."""


@dataclass(frozen=True, eq=False)
class BearableAcceleration:
    """The flight within the least limit on acceleration.

    Attributes:
        mission: with that limit.
        attempt: its flight, with next to nothing to spare.
        limit: m/s^2 with which `TO_SPARE` m/s are left, by the rocket equation from there.
        shortfall: m/s that are missing within the limit asked.
    """

    mission: Mission
    attempt: Attempt
    limit: float
    shortfall: float


def least_acceleration(task: Task) -> BearableAcceleration | Attempt | None:
    """The least limit beyond the one asked, or an attempt that flies within that.

    None where no limit leaves propellant unburned, or none is seen to help.
    """
    asked, loose = _limit(task.mission), LOOSE * limit_that_leaves_nothing(task.vehicle)
    if asked is None or asked >= loose:
        return None
    there = replace(task, mission=_within(task.mission, loose))
    flight = next(_flights(there), None)
    if flight is None:
        return None
    found = _tightened(task, there, flight)
    limit, left = _limit(found.mission) or loose, found.left
    if limit == asked:
        return found.attempt
    able = ideal_delta_v_within(task.vehicle, limit)
    missing = able - left - ideal_delta_v_within(task.vehicle, asked)
    named = limit_with(task.vehicle, able - left + TO_SPARE)
    return BearableAcceleration(found.mission, found.attempt, named or limit, missing)


def _flights(task: Task) -> Iterator[Attempt]:
    """Flights within the limits, the one that promises most first."""
    found = structures_without_load_limits(task, [], len(task.vehicle.stages) - 1)
    for one in best_first([one for one in found if one.reached]):
        kept = impose_limits(task, one)
        if kept.keeps_limits:
            yield kept


@dataclass(frozen=True, eq=False)
class _Step:
    mission: Mission
    attempt: Attempt
    left: float


def _tightened(task: Task, there: Task, flight: Attempt) -> _Step:
    """The flight within the limit that leaves next to nothing, or within the one asked."""
    asked = _limit(task.mission) or 0.0
    left = delta_v_left(task.vehicle, flight, _limit(there.mission))
    here, slope, stride = _Step(there.mission, flight, left), 1.0 / STRIDE, 1.0
    for _ in range(STEPS):
        able = ideal_delta_v_within(task.vehicle, _limit(here.mission))
        limit = limit_with(task.vehicle, able - stride * (here.left - AIM) / slope)
        limit = max(limit or asked, asked)
        if 0.0 <= here.left < TO_SPARE or limit == _limit(here.mission) or stride <= 0.5**FAILURES:
            break
        found = _within_tighter(replace(task, mission=_within(task.mission, limit)), here.attempt)
        if found is None:
            stride *= 0.5
            continue
        spent = able - ideal_delta_v_within(task.vehicle, limit)
        slope, stride = max((here.left - found.left) / spent, LEAST_SLOPE), 1.0
        here = _Step(_within(task.mission, limit), found.attempt, found.left)
    return here


def _within_tighter(task: Task, flight: Attempt) -> Rung | None:
    """The flight within the task's limit, with the early ends that it asks for."""
    plan = flight.plan
    early = stages_that_must_end_early(task.vehicle, task.mission, plan.inserting_stage)
    plan = replace(plan, cut_early=tuple(sorted({*plan.cut_early, *early})))
    try:
        sequence = task.arcs_of(plan)
    except InputError:
        return None
    return OwnTank().rung(task, replace(flight, plan=plan, sequence=sequence))


def limit_with(vehicle: Vehicle, able: float) -> float | None:
    """Limit on acceleration in m/s^2 with so much ideal delta-v, m/s; None where none has it."""
    from scipy.optimize import brentq

    loose = limit_that_leaves_nothing(vehicle)
    least = 0.01 * loose

    def beyond(limit: float) -> float:
        return ideal_delta_v_within(vehicle, limit) - able

    if beyond(loose) <= 0.0 or beyond(least) >= 0.0:
        return None
    return float(brentq(beyond, least, loose))


def _within(mission: Mission, limit: float) -> Mission:
    return replace(mission, limits=replace(mission.limits, axial_acceleration=limit))


def _limit(mission: Mission) -> float | None:
    return mission.limits.axial_acceleration

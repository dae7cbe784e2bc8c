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
from math import log

from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.unburned import (
    ideal_delta_v_within,
    least_mass_alight,
    limit_that_leaves_nothing,
)
from ascentopt.optimal.payload.freed import TO_SPARE
from ascentopt.optimal.payload.start import AMPLE, SPARE, solved_again
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.enumeration import (
    stages_that_must_end_early,
    structures_without_load_limits,
)
from ascentopt.optimal.structure.limits_in_turn import best_first
from ascentopt.optimal.task import WARM_ITERATIONS, Task
from ascentopt.rocket import Vehicle

LOOSE = 1.001
"""Times the limit with which every stage burns out: by how much air pushes back, or drag, no stage
is to end early."""

STEPS, STRIDE = 12, 0.95
"""Most steps down, and the share of what is to spare that the first one takes: losses change by
less. One that leads nowhere is halved."""

AIM = 0.5 * TO_SPARE
"""m/s that a step is to leave."""

LEAST_SLOPE = 0.1
"""m/s left less for one of ideal delta-v less, at least: losses do not make up for more."""


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


def lets_burn_out(task: Task, vehicle: Vehicle) -> bool:
    """Whether the limit on acceleration lets every stage of a vehicle burn out."""
    asked = task.acceleration_limit
    return asked is None or asked >= LOOSE * limit_that_leaves_nothing(vehicle)


def letting_burn_out(task: Task, vehicle: Vehicle) -> Task:
    """The task within a limit on acceleration that lets every stage of a vehicle burn out."""
    return within(task, LOOSE * limit_that_leaves_nothing(vehicle))


def least_acceleration(task: Task, short: float | None) -> BearableAcceleration | Attempt | None:
    """The least limit beyond the one asked, or an attempt that flies within that.

    ``short`` is the speed that seems to be missing, m/s. None where no limit is seen to help.
    """
    if lets_burn_out(task, task.vehicle):
        return None
    begun = next(_flights(task, short), None)
    if begun is None:
        return None
    found = _tightened(task, begun)
    limit, asked, vehicle = found.task.acceleration_limit, task.acceleration_limit, task.vehicle
    if limit == asked:
        return found.attempt
    able = ideal_delta_v_within(vehicle, limit) - found.left
    named = limit_with(vehicle, able + TO_SPARE) or limit or 0.0
    missing = able - ideal_delta_v_within(vehicle, asked)
    if missing <= 0.0:
        return None
    return BearableAcceleration(found.task.mission, found.attempt, named, missing)


@dataclass(frozen=True, eq=False)
class _Step:
    """A limit's flight; ``left`` is what it has to spare in m/s."""

    task: Task
    attempt: Attempt
    left: float

    @classmethod
    def of(cls, task: Task, flight: Attempt) -> _Step:
        """With what the limit lets it burn."""
        return cls(task, flight, _delta_v_left(task.vehicle, flight, task.acceleration_limit))


def _flights(task: Task, short: float | None) -> Iterator[_Step]:
    """Flights within looser limits, the nearer limit first: as loose as it seems it must be."""
    last, able = len(task.vehicle.stages) - 1, ideal_delta_v_within
    loose = letting_burn_out(task, task.vehicle)
    wanted = able(task.vehicle, task.acceleration_limit) + AMPLE * (short or 0.0) + SPARE
    near = None if short is None else limit_with(task.vehicle, wanted)
    for there in (loose,) if near is None else (within(task, near), loose):
        found = list(structures_without_load_limits(there, [], last))
        for one in best_first([one for one in found if one.reached]):
            kept = impose_limits(there, one)
            if kept.keeps_limits:
                yield _Step.of(there, kept)


def _tightened(task: Task, first: _Step) -> _Step:
    """The flight within the limit that leaves next to nothing, or within the one asked.

    By secants over the ideal delta-v; a step that leads nowhere is halved, and so are those after.
    """
    asked, here, slope, longest = task.acceleration_limit or 0.0, first, 1.0 / STRIDE, first.left
    for _ in range(STEPS):
        able = ideal_delta_v_within(task.vehicle, here.task.acceleration_limit)
        given_up = min((here.left - AIM) / slope, longest)
        there = within(task, max(limit_with(task.vehicle, able - given_up) or asked, asked))
        if 0.0 <= here.left < TO_SPARE or there.acceleration_limit == here.task.acceleration_limit:
            break
        found = _within_tighter(there, here.attempt)
        if found is None:
            longest = 0.5 * given_up
            continue
        spent = able - ideal_delta_v_within(task.vehicle, there.acceleration_limit)
        slope = max((here.left - found.left) / spent, LEAST_SLOPE)
        here = found
    return here


def _within_tighter(task: Task, flight: Attempt) -> _Step | None:
    """The flight within the task's limit, with the early ends that it asks for."""
    plan = flight.plan
    early = stages_that_must_end_early(task.vehicle, task.mission, plan.inserting_stage)
    plan = plan.cutting_early(*early)
    try:
        sequence = task.arcs_of(plan)
    except InputError:
        return None
    brief = replace(task, settings=task.settings.given_up_after(WARM_ITERATIONS))
    found = solved_again(brief, replace(flight, plan=plan, sequence=sequence, history=()))
    return _Step.of(task, found) if found.flies else None


def _delta_v_left(vehicle: Vehicle, flight: Attempt, limit: float | None) -> float:
    """Speed in m/s that the stage which is cut off has left, beyond the reserve.

    And beyond what the limit on acceleration, m/s^2, never lets it burn.
    """
    arc = flight.sequence.arcs[flight.sequence.cut_off]
    held = max(least_mass_alight(vehicle, arc.stage, limit), arc.least_mass)
    return vehicle.stages[arc.stage].engine.exhaust_speed * log(flight.cut_off_mass / held)


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


def within(task: Task, limit: float) -> Task:
    """The task with a limit on acceleration, m/s^2."""
    limits = replace(task.mission.limits, axial_acceleration=limit)
    return replace(task, mission=replace(task.mission, limits=limits))

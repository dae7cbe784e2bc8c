"""A tank that may be overdrawn: part of the last stage's dry mass and of the payload as propellant.

The greatest mass does not need to be told how much propellant there is. Without that bound every
structure can be flown to its end, and limits can be brought down, whatever they cost; what it burns
too much is asked last. With it, a step towards the limits fails where the tank is empty, and no
step is small enough. And the speed that is missing as an impulse at the insertion says nothing
about a long coast before the last burn: what it lacks it lacks before the coast, falls back, and
the program ends in a flight that does not coast.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, log

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.task import Task
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import STANDARD_GRAVITY

RELAXED_TANK = "with a tank that may be overdrawn"
"""What is relaxed, in the history."""

RELAXED_SHARE = 0.5
"""Of dry mass and payload: enough for 0.7 times the exhaust speed, some 2 km/s."""


def with_relaxed_tank(task: Task) -> Task:
    """The same task with a tank that may be overdrawn."""
    return replace(task, vehicle=relaxed_vehicle(task.vehicle))


def relaxed_vehicle(vehicle: Vehicle) -> Vehicle:
    """The vehicle with as much mass in the same places, more of it propellant of the last stage."""
    *below, last = vehicle.stages
    credit = RELAXED_SHARE * (last.dry_mass + vehicle.payload_mass)
    deep = replace(
        last,
        dry_mass=(1.0 - RELAXED_SHARE) * last.dry_mass,
        propellant_mass=last.propellant_mass + credit,
    )
    payload = (1.0 - RELAXED_SHARE) * vehicle.payload_mass
    return replace(vehicle, payload_mass=payload, stages=(*below, deep))


def remaining_delta_v(vehicle: Vehicle, sequence: Sequence, final_mass: float) -> float:
    """Speed in m/s that is left in the tank at insertion; negative where it is overdrawn."""
    last = sequence.arcs[-1]
    return exhaust_speed(vehicle, last.stage) * log(final_mass / last.least_mass)


def exhaust_speed(vehicle: Vehicle, stage: int = -1) -> float:
    """Of a stage in vacuum, m/s."""
    return vehicle.stages[stage].engine.vacuum_isp * STANDARD_GRAVITY


def can_relax_tank(vehicle: Vehicle) -> bool:
    """Whether the last stage burns longer with more propellant: a solid motor does not."""
    return not isinstance(vehicle.stages[-1].engine, SolidMotor)


def solve_with_relaxed_tank(task: Task, attempt: Attempt, flight: Attempt | None) -> Attempt:
    """What a flight says to an attempt, its tank overdrawn until the limits hold.

    Args:
        task: with the vehicle's own tank.
        attempt: falls short, or breaks limits; it stands where the limits do not come to hold.
        flight: the same burns and coasts, its own tank or a relaxed one; None for no news.
    """
    if flight is None or not can_relax_tank(task.vehicle):
        return attempt
    lines = (*attempt.history, RELAXED_TANK, *(() if flight is attempt else flight.history))
    begun = replace(flight, history=lines)
    solver = LimitedSolver.resumed(with_relaxed_tank(task), begun)
    found = solver.impose_limits_directly(begun)
    if found is None:
        return attempt
    own = with_own_tank(task, found)
    if _own_shortfall_is_smaller(attempt, own):
        return replace(attempt, history=own.history)
    return own


def _own_shortfall_is_smaller(attempt: Attempt, own: Attempt) -> bool:
    """Whether an attempt's own shortfall stands beside one within limits, and is the smaller."""
    if attempt.shortfall is None or own.shortfall is None or own.reached:
        return False
    within = bool(attempt.limited_arcs) or not own.limited_arcs
    return within and attempt.shortfall < own.shortfall


def with_own_tank(task: Task, relaxed: Attempt) -> Attempt:
    """With the tank as it is, from a flight within the limits with a relaxed tank."""
    solver = StructureSolver.resumed(task, relaxed)
    left = remaining_delta_v(task.vehicle, solver.flight.sequence, relaxed.final_mass)
    if left >= 0.0:
        found = solver.solve_again(relaxed)
        return with_limits_imposed_again(task, found) if found.reached else found
    solver.ladder.note(f"reaches the orbit with its tank overdrawn, {in_words(-left)} short")
    start = relaxed.found.as_guess()
    found = solver.solve_from_guess(task.mission.limits, relaxed.limited_arcs, start)
    if found.reached:
        return with_limits_imposed_again(task, found)
    overdrawn = relaxed.found if found.nearest_flight is None else None
    short = min(-left, found.shortfall or inf)
    return replace(found, shortfall=short, shortfall_keeps_limits=True, overdrawn_flight=overdrawn)


def with_limits_imposed_again(task: Task, attempt: Attempt) -> Attempt:
    """Within the limits on loads where the solver can follow at once; else it stands."""
    return LimitedSolver.resumed(task, attempt).impose_limits_directly(attempt) or attempt

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
from math import log

from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.unburned import least_mass_alight
from ascentopt.optimal.solve.ladder import REACHED
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.task import Task
from ascentopt.rocket import SolidMotor, Vehicle

RELAXED_TANK = "with a tank that may be overdrawn"
"""What is relaxed, in the history."""

RELAXED_SHARE = 0.5
"""Of dry mass and payload: enough for 0.7 times the exhaust speed, some 2 km/s."""


def with_relaxed_tank(task: Task) -> Task:
    """The same task with a tank that may be overdrawn, where the limits let it be.

    As much mass is in the same places, more of it propellant of the last stage.
    """
    vehicle, share = task.vehicle, _share_to_burn(task)
    if share <= 0.0:
        return task
    *below, last = vehicle.stages
    credit = share * (last.dry_mass + vehicle.payload_mass)
    deep = replace(
        last,
        dry_mass=(1.0 - share) * last.dry_mass,
        propellant_mass=last.propellant_mass + credit,
    )
    payload = (1.0 - share) * vehicle.payload_mass
    roomy = replace(vehicle, payload_mass=payload, stages=(*below, deep))
    return replace(task, vehicle=roomy, own_vehicle=vehicle)


def _share_to_burn(task: Task) -> float:
    """Of dry mass and payload; none of what a limit on acceleration does not let be burned."""
    vehicle, limit = task.vehicle, task.acceleration_limit
    if not can_relax_tank(vehicle):
        return 0.0
    empty = vehicle.stages[-1].dry_mass + vehicle.payload_mass
    held = least_mass_alight(vehicle, len(vehicle.stages) - 1, limit)
    return min(RELAXED_SHARE, 1.0 - held / empty)


def may_overdraw(task: Task) -> bool:
    """Whether the last stage burns longer with more propellant, and the limits let it."""
    return _share_to_burn(task) > 0.0


def remaining_delta_v(vehicle: Vehicle, sequence: Sequence, final_mass: float) -> float:
    """Speed in m/s that is left in the tank at insertion; negative where it is overdrawn."""
    last = sequence.arcs[-1]
    return vehicle.stages[last.stage].engine.exhaust_speed * log(final_mass / last.least_mass)


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
    own = measured_by_own_tank(task, found)
    if _own_shortfall_is_smaller(attempt, own):
        return replace(attempt, history=own.history)
    return own


def _own_shortfall_is_smaller(attempt: Attempt, own: Attempt) -> bool:
    """Whether an attempt's own shortfall stands beside one within limits, and is the smaller."""
    if attempt.shortfall is None or own.shortfall is None or own.reached:
        return False
    within = bool(attempt.limited_arcs) or not own.limited_arcs
    return within and attempt.shortfall < own.shortfall


def by_own_tank(task: Task, relaxed: Attempt) -> Attempt:
    """An attempt made with a tank that may be overdrawn, as the tank is; nothing is solved.

    What a flight to the orbit burned too much is missing.
    """
    own = replace(relaxed, sequence=task.arcs_of(relaxed.plan))
    lacks = _overdraft(task, own)
    if not relaxed.reached or lacks == 0.0:
        return own
    told = f"reaches the orbit with its tank overdrawn, {in_words(lacks)} short"
    return replace(
        own,
        solution=None,
        overdrawn_flight=relaxed.solution,
        shortfall=lacks,
        keeps_limits=False,
        shortfall_keeps_limits=relaxed.keeps_limits,
        history=(*relaxed.history, told),
    )


def measured_by_own_tank(task: Task, relaxed: Attempt) -> Attempt:
    """The same, solved once more from itself where it flies, or overdraws the tank and falls short.

    An overdrawn tank costs nothing on the way to a least missing speed: it is no measure.
    """
    own = by_own_tank(task, relaxed)
    if not own.reached:
        lost = not relaxed.reached and _overdraft(task, own) > REACHED
        return _nearest_with_own_tank(task, own) if lost else own
    found = StructureSolver.resumed(task, relaxed).solve_again(relaxed)
    return with_limits_imposed_again(task, found) if found.reached and relaxed.flies else found


def _overdraft(task: Task, attempt: Attempt) -> float:
    """Speed in m/s that an attempt's best known flight has burned beyond what its tank holds."""
    flight = attempt.best_known_flight
    if flight is None:
        return 0.0
    end = float(flight.arcs[-1].states[-1, MASS])
    return max(-remaining_delta_v(task.vehicle, attempt.sequence, end), 0.0)


def _nearest_with_own_tank(task: Task, short: Attempt) -> Attempt:
    """What is missing with the tank as it is, from a flight that overdraws it and falls short.

    Where that is not solved, what is missing all the same: it is no less.
    """
    near = short.nearest_flight
    if near is None or short.shortfall is None:
        return short
    solver = StructureSolver.resumed(task, replace(short, solution=near))
    found = solver.solve_from_guess(task.mission.limits, short.limited_arcs, near.as_guess())
    known = found.shortfall and found.nearest_flight
    return found if known else replace(short, history=found.history)


def overdrawn(task: Task, attempt: Attempt) -> Attempt | None:
    """The flight of an attempt that burns more than its tank holds, for the relaxed tank."""
    if attempt.overdrawn_flight is None or not attempt.shortfall_keeps_limits:
        return None
    sequence = with_relaxed_tank(task).arcs_of(attempt.plan)
    return replace(
        attempt,
        sequence=sequence,
        solution=attempt.overdrawn_flight,
        overdrawn_flight=None,
        shortfall=0.0,
        keeps_limits=True,
    )


def with_limits_imposed_again(task: Task, attempt: Attempt) -> Attempt:
    """Within the limits on loads where the solver can follow at once; else it stands."""
    return LimitedSolver.resumed(task, attempt).impose_limits_directly(attempt) or attempt

"""Where the search for the greatest payload begins: payloads that usual ascents carry, and less."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import inf

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.flight.phases.hold_down import greatest_pad_thrust
from ascentopt.flight.phases.vertical_rise import pad_gravity
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.ideal_delta_v import ideal_delta_v, payload_with
from ascentopt.optimal.bounds.impulsive import check_bound, usual_delta_v
from ascentopt.optimal.bounds.lift_off import check_lift_off
from ascentopt.optimal.bounds.motor_acceleration import payload_that_motors_bear
from ascentopt.optimal.bounds.unburned import payload_of_most_delta_v
from ascentopt.optimal.payload.strain import may_be_unstrained
from ascentopt.optimal.solve.outcome import Unsolved
from ascentopt.optimal.solve.relaxed_tank import by_own_tank, remaining_delta_v, with_relaxed_tank
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.solve.ways_within_limits import impose_limits_directly
from ascentopt.optimal.task import Task

BEGINNINGS, BEGINNINGS_IN_HASTE = 6, 3
"""Payloads that are begun with in turn, each lighter than the last, before none at all is. Of 40
refusals none that was found took a fourth, and one where nothing is solved takes seconds each."""

OVERDRAWN = 500.0
"""m/s that a flight to begin with may lack with the tank as it is. One with much more is another
flight than what a lighter payload flies, and leads to a worse optimum of its structure (2 % of the
payload, certified, of a vehicle with little thrust); of usual vehicles they lack up to 250."""

LIFTED = 0.95
"""Of the mass that the thrust at lift-off bears, at most, where a search begins: at all of it a
vehicle hovers until it has burned some, and its flight is none to begin with. Few launchers weigh
more than nine tenths of their thrust (common practice, no source)."""

AMPLE, SPARE = 1.2, 50.0
"""Times the speed that seems to be missing, and m/s beside it, that a lighter payload gains: what
seems to be missing may be too little, and where much is left the first flight is found at once."""

TINY = 1e-3
"""kg in place of a mass below none."""

Structures = Callable[[Task], list[Attempt]]
"""All structures of a task within the limits, the best first, with tanks that may be overdrawn."""


@dataclass(frozen=True, eq=False)
class Beginning:
    """A payload with structures of its flight, of which the first flies if its tank is overdrawn.

    Attributes:
        task: whose vehicle carries it, with its own tank.
        attempts: with a tank that may be overdrawn.
    """

    task: Task
    attempts: list[Attempt]

    @property
    def flies(self) -> bool:
        """Whether the best does, its tank overdrawn or not."""
        return bool(self.attempts) and self.attempts[0].flies


def beginnings(
    task: Task, reserve: float, structures: Structures, lacks: float | None = None
) -> Iterator[Beginning]:
    """Payloads that fly, or do with an overdrawn tank: the usual one first, then lighter ones.

    After one that leaves propellant, and led to no greatest payload, heavier ones: that is above.
    A flight far too heavy for its tank stands where a lighter one leaves stages unlit, or none
    flies. Lighter ones than break limits all the more are not tried.

    Args:
        task: whose vehicle's payload does not matter where nothing is known to lack.
        reserve: kg to be left beside the mission's.
        structures: solves for them.
        lacks: m/s that the task's own payload does; what is begun with then is lighter.
    """
    place, least, heavy = _first(task, reserve, lacks), least_payload(task), None
    for _ in range(BEGINNINGS_IN_HASTE if task.hasty else BEGINNINGS):
        begun, missing = _begun(carrying(task, place.payload), structures)
        if begun.flies and (missing or 0.0) <= OVERDRAWN:
            if heavy is not None and begun.attempts[0].plan.unlit:
                break
            yield begun
        elif begun.flies:
            heavy = heavy or begun
        elif not may_be_unstrained(with_relaxed_tank(begun.task), begun.attempts, (least,)):
            break
        before, place = place, place.after(begun, missing, reserve)
        if place.payload == before.payload:
            break
    if heavy is not None:
        yield heavy


@dataclass(frozen=True)
class _Place:
    """Where the greatest payload is looked for, kg.

    Attributes:
        payload: to begin with.
        flown: the last that left propellant; none where none has yet.
        most: the last that did not; without bound where none is known.
    """

    payload: float
    flown: float
    most: float

    def after(self, begun: Beginning, missing: float | None, reserve: float) -> _Place:
        """The next one, where nothing was led to from this."""
        spare = _spare_speed(begun, reserve)
        if spare > SPARE:
            return _Place(_heavier(begun.task, spare, reserve, self.most), self.payload, self.most)
        half = 0.5 * (self.flown + self.payload) if self.flown else 0.0
        return _Place(max(_lighter(begun.task, missing, reserve), half), self.flown, self.payload)


def _first(task: Task, reserve: float, lacks: float | None) -> _Place:
    usual = usual_payload(task, reserve)
    if lacks is None:
        return _Place(usual, 0.0, inf)
    return _Place(min(usual, _lighter(task, lacks, reserve)), 0.0, task.vehicle.payload_mass)


def _begun(task: Task, structures: Structures) -> tuple[Beginning, float | None]:
    """The structures of a payload, and the m/s that the nearest lacks; None where none knows."""
    task.watch.begins(f"{task.vehicle.payload_mass:.2f} kg of payload")
    attempts = structures(task) if may_fly(task) else []
    known = [by_own_tank(task, one).shortfall for one in attempts]
    begun, told = Beginning(task, attempts), [one for one in known if one is not None]
    return begun, known[0] if begun.flies else min(told, default=None)


def payload_may_help(task: Task, attempts: list[Attempt]) -> bool:
    """Whether another payload may bring attempts of the task within the limits on loads."""
    return may_be_unstrained(task, attempts, (least_payload(task), usual_payload(task, 0.0)))


def carrying(task: Task, payload: float) -> Task:
    """The task with another payload, kg."""
    return replace(task, vehicle=replace(task.vehicle, payload_mass=payload))


def usual_payload(task: Task, reserve: float) -> float:
    """Payload in kg with the ideal delta-v that few ascents do with less than, a reserve left.

    No more than the thrust at lift-off bears: a light body is left with less speed than that.
    """
    limit, vehicle = task.acceleration_limit, replace(task.vehicle, payload_mass=0.0)
    gain = usual_delta_v(task.mission) - ideal_delta_v(vehicle, reserve, limit)
    able = payload_with(vehicle, gain, reserve, limit) or 0.0
    return max(min(able, _lifted_payload(task)), least_payload(task))


def _lifted_payload(task: Task) -> float:
    """Payload in kg that the thrust at lift-off bears with some to spare; below zero: not even."""
    empty = replace(task.vehicle, payload_mass=0.0)
    borne = greatest_pad_thrust(empty, task.mission) / pad_gravity(task.mission)
    return LIFTED * borne - empty.lift_off_mass


def least_payload(task: Task) -> float:
    """Payload in kg below which nothing is gained: none, but for a limit on acceleration.

    A motor, which nothing throttles, may accelerate a lighter one beyond the limit, and other
    stages may burn less of what they hold.
    """
    borne = payload_that_motors_bear(task.vehicle, task.mission)
    return max(borne, payload_of_most_delta_v(task.vehicle, task.acceleration_limit))


def _lighter(task: Task, lacks: float | None, reserve: float) -> float:
    """Payload in kg that gains amply what the nearest attempt lacks; half where none knows.

    Half way to what motors bear where it would be lighter: with that a limit acts from the first
    iterate on, and nothing may move.
    """
    payload, limit = task.vehicle.payload_mass, task.acceleration_limit
    borne, least = payload_that_motors_bear(task.vehicle, task.mission), least_payload(task)
    gain = AMPLE * lacks + SPARE if lacks else 0.0
    with_gain = payload_with(task.vehicle, gain, reserve, limit) or 0.0 if lacks else 0.5 * payload
    lighter = max(min(with_gain, 0.9 * payload), least)
    return lighter if lighter > borne else 0.5 * (payload + borne)


def _spare_speed(begun: Beginning, reserve: float) -> float:
    """Speed in m/s that the best flight has left in its tank; below zero if the reserve is not."""
    if not begun.flies:
        return -inf
    vehicle, flight = begun.task.vehicle, begun.attempts[0]
    own = begun.task.arcs_of(flight.plan)
    return remaining_delta_v(vehicle, own, max(flight.final_mass - reserve, TINY))


def _heavier(task: Task, spare: float, reserve: float, most: float) -> float:
    """Payload in kg that takes half of the speed to spare; half way to the most, if nearer."""
    payload = task.vehicle.payload_mass
    takes = payload_with(task.vehicle, -0.5 * spare, reserve, task.acceleration_limit)
    return min(payload if takes is None else takes, 0.5 * (payload + most))


def may_fly(task: Task) -> bool:
    """Whether nothing is known against it before anything is solved."""
    try:
        check_lift_off(task.vehicle, task.mission)
        check_bound(task.vehicle, task.mission)
    except (InputError, InfeasibleAscent):
        return False
    return True


def solved_again(task: Task, attempt: Attempt) -> Attempt:
    """An attempt at another payload, from its flight; it stands where it has none.

    Without the limits on loads where it was solved so: what it did at a lighter payload is no bound
    on what it does at this one.
    """
    if not attempt.reached:
        return replace(attempt, sequence=task.arcs_of(attempt.plan))
    solver = StructureSolver.resumed(task, attempt)
    found = solver.solve_with_multipliers_of(attempt)
    if found is not None and not attempt.keeps_limits:
        return found
    kept = None if found is None else impose_limits_directly(task, found)
    if kept is not None:
        return kept
    return solver.attempt_of(Unsolved(), solver.flight)

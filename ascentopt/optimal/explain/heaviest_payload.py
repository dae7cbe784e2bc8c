"""The greatest payload that reaches the orbit within the limits, and what is missing for another.

The payload is free in the program of the flight that comes nearest, as in the search for the
greatest payload, and structures are compared once more next to it. What is missing for another
payload is told by the rocket equation: so much more ideal delta-v the vehicle has with the greatest
one. That hangs on no local optimum of the missing speed, and grows with the payload asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.ideal_delta_v import ideal_delta_v
from ascentopt.optimal.bounds.unburned import ideal_delta_v_within
from ascentopt.optimal.by_inserting_stage import structures_within_limits
from ascentopt.optimal.design.solve import Designed
from ascentopt.optimal.explain.bearable_acceleration import (
    BearableAcceleration,
    least_acceleration,
    lets_burn_out,
    letting_burn_out,
)
from ascentopt.optimal.in_turn import result_of
from ascentopt.optimal.payload.freed import FreedPayload
from ascentopt.optimal.payload.stages_lit import with_stages_lit
from ascentopt.optimal.payload.start import Beginning, beginnings, payload_may_help, solved_again
from ascentopt.optimal.solve.ladder import REACHED_EXACTLY
from ascentopt.optimal.solve.relaxed_tank import by_own_tank, overdrawn, with_relaxed_tank
from ascentopt.optimal.structure.search_by_moves import search_by_moves
from ascentopt.optimal.task import WARM_ITERATIONS, Task
from ascentopt.progress import TimeIsUp
from ascentopt.rocket import Vehicle

WORTH_A_MOVE = 1e-3
"""Share of the payload that a move must gain to first order, over its first seconds: a coast that
pays gains tens of times that, and the payload named is to be within 1 per cent."""


@dataclass(frozen=True, eq=False)
class HeaviestFlight:
    """The flight with the greatest payload, or within the least limit on acceleration.

    Attributes:
        vehicle: with a payload that leaves `TO_SPARE`; attempt: its flight.
        shortfall: m/s that are missing for the payload asked.
        mission: of the flight.
        acceleration: limit in m/s^2 within which the payload flies, where none was seen to within
            the mission's own; None where it is that one.
    """

    vehicle: Vehicle
    attempt: Attempt
    shortfall: float
    mission: Mission
    acceleration: float | None = None

    @property
    def payload(self) -> float:
        """In kg."""
        return self.vehicle.payload_mass


def heaviest_flight(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """The greatest payload, or an attempt that flies what was asked.

    None where no payload is seen to fly. Where the limit on acceleration leaves propellant
    unburned, what flies within a looser one. In haste: what is not found so has never been found
    with patience.
    """
    hasty = task.in_haste()
    task.watch.begins("the greatest payload that flies")
    try:
        found = _heaviest(hasty, attempts) if payload_may_help(task, attempts) else None
        if found is not None or lets_burn_out(task, _empty(task.vehicle)):
            return found
        return _within_looser_limit(hasty, attempts)
    except TimeIsUp:
        return None


def _heaviest(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """With the limits as they are."""
    freed = FreedPayload(task, 0.0)
    found = _greatest(freed, attempts)
    if found is None:
        return None
    if found.vehicle.payload_mass >= task.vehicle.payload_mass:
        flight = found.plain(task)
        if flight is not None and flight.flies:
            return flight
    next_to = freed.next_to(found)
    if next_to is None:
        return None
    there, roomy = next_to
    flight = solved_again(there, roomy)
    if not flight.flies:
        flight = by_own_tank(there, roomy)
    if not flight.reached:  # overdrawn on the vehicle's own arcs: no payload is known to fly
        return None
    missing = _missing(task, found, attempts)
    return HeaviestFlight(there.vehicle, flight, missing, task.mission)


def _greatest(freed: FreedPayload, attempts: list[Attempt]) -> Designed | None:
    """The greatest payload, of the structure that is best next to it."""
    for begun in _begun(freed.task, attempts):
        found = freed.designed(begun.task, begun.attempts)
        if found is not None:
            lit, _ = with_stages_lit(freed, (found, begun.attempts), _structures)
            return _told(freed.task, _best_next_to(freed, lit))
    return None


def _structures(task: Task) -> list[Attempt]:
    return result_of(structures_within_limits(task))


def _told(task: Task, found: Designed) -> Designed:
    payload = found.vehicle.payload_mass
    task.watch.finishes(f"{found.attempt.plan}: {payload:.6g} kg of payload at most")
    return found


def _begun(task: Task, attempts: list[Attempt]) -> Iterator[Beginning]:
    """From the vehicle itself, its tank overdrawn, then from payloads that usual ascents carry."""
    itself = [one for one in (overdrawn(task, one) for one in attempts) if one is not None]
    if itself:
        yield Beginning(task, sorted(itself, key=lambda one: -one.unspent))

    yield from beginnings(task, 0.0, _structures, _least_shortfall(attempts))


def _best_next_to(freed: FreedPayload, found: Designed) -> Designed:
    """With moves that gain there: which structure is best changes with the payload."""
    next_to = freed.next_to(found)
    if next_to is None:
        return found
    task, flight = next_to
    worth = WORTH_A_MOVE * task.vehicle.payload_mass
    brief = replace(task, settings=task.settings.given_up_after(WARM_ITERATIONS))
    moved = search_by_moves(with_relaxed_tank(brief), flight, worth=worth).best
    again = None if moved is flight else freed.designed(task, [moved])
    if again is None or again.vehicle.payload_mass < found.vehicle.payload_mass:
        return found
    return again


def _missing(task: Task, found: Designed, attempts: list[Attempt]) -> float:
    """Speed in m/s that the payload asked has less than the greatest; what lacks where it has more.

    A light payload may leave more unburned than a heavier one.
    """
    kept, limit = found.attempt.sequence.reserve, task.acceleration_limit
    able, asked = (ideal_delta_v(one, kept, limit) for one in (found.vehicle, task.vehicle))
    missing = able - asked
    return missing if missing > 0.0 else _least_shortfall(attempts) or REACHED_EXACTLY


def _within_looser_limit(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """What flies within a looser limit on acceleration: the payload asked, or the greatest."""
    eased = least_acceleration(task, _least_shortfall(attempts))
    if isinstance(eased, BearableAcceleration):
        vehicle, limit = task.vehicle, eased.limit
        return HeaviestFlight(vehicle, eased.attempt, eased.shortfall, eased.mission, limit)
    return eased or _heaviest_when_burned_out(task)


def _heaviest_when_burned_out(task: Task) -> HeaviestFlight | None:
    """The greatest payload within a limit that leaves nothing unburned, whatever is carried."""
    loose = letting_burn_out(task, _empty(task.vehicle))
    found = _heaviest(loose, [])
    if not isinstance(found, HeaviestFlight):
        return None
    able = [ideal_delta_v_within(task.vehicle, one.acceleration_limit) for one in (loose, task)]
    told = letting_burn_out(task, found.vehicle)
    short = found.shortfall + able[0] - able[1]
    return replace(found, shortfall=short, acceleration=told.acceleration_limit)


def _empty(vehicle: Vehicle) -> Vehicle:
    """Without payload: it accelerates most, and no other leaves more unburned."""
    return replace(vehicle, payload_mass=0.0)


def _least_shortfall(attempts: list[Attempt]) -> float | None:
    """What seems to be missing, m/s."""
    return min((one.shortfall for one in attempts if one.shortfall), default=None)

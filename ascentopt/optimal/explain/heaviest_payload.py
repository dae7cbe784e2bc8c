"""The greatest payload that reaches the orbit within the limits, climbed to from a lighter one.

Where nothing is found for the payload asked, a lighter vehicle's flight is, and what it has to
spare is turned into payload by the rocket equation, a few times, each flight begun from the last
one. If that comes to what was asked, the vehicle flies after all. Otherwise what is missing is told
by the rocket equation as well: so much more ideal delta-v the vehicle has with the greatest
payload. That hangs on no local optimum of the missing speed, and grows with the payload asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.impulsive import usual_delta_v
from ascentopt.optimal.bounds.motor_acceleration import payload_that_motors_bear
from ascentopt.optimal.bounds.unburned import (
    ideal_delta_v_within,
    payload_of_most_delta_v,
)
from ascentopt.optimal.explain.bearable_acceleration import (
    BearableAcceleration,
    least_acceleration,
    lets_burn_out,
    letting_burn_out,
    within,
    within_tighter,
)
from ascentopt.optimal.explain.least_violation import violates_less_when_lighter
from ascentopt.optimal.explain.payload_climb import (
    AMPLE,
    SPARE,
    TO_SPARE,
    climb,
    delta_v_left,
    ideal_delta_v,
    payload_with,
)
from ascentopt.optimal.solve.impose_limits import impose_limits
from ascentopt.optimal.solve.ladder import REACHED_EXACTLY
from ascentopt.optimal.solve.relaxed_tank import may_overdraw, overdrawn, with_relaxed_tank
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.imposed_limits import best_first
from ascentopt.optimal.task import Task
from ascentopt.progress import TimeIsUp
from ascentopt.rocket import Vehicle

FAR = 0.02
"""Share of the payload asked that the lightest one keeps: with none at all the last stage of a
small vehicle may have nothing to push."""

FLIGHTS = 2
"""Flights of one payload that are climbed from, where the best one's structure comes to its end."""

CLIMBS = 2
"""Climbs that end early after which the best one stands: what holds both is no structure's end."""

MORE_LOST = 1.5
"""Times the ideal delta-v that a tighter limit takes, that a payload gives back for it: a lower
stage that ends earlier leaves more to those above, which lose more. It is climbed up from there."""

FAILURES = 3
"""Steps in turn that lead nowhere, each half as long, after which there is no way to the limit."""

STUCK = 50.0
"""m/s left from which on a climb has ended early: its structure goes no further, or was not solved.
Ten times what a payload named has left."""


@dataclass(frozen=True, eq=False)
class HeaviestFlight:
    """The flight with the greatest payload, or within the least limit on acceleration.

    Attributes:
        vehicle: the heaviest that was flown; attempt: its flight, with next to nothing to spare.
        payload: kg with which `TO_SPARE` are left, by the rocket equation from there.
        shortfall: m/s that are missing for the payload asked.
        acceleration: limit in m/s^2 within which the payload flies, where none was seen to within
            the mission's own; None where it is that one.
        mission: of the flight.
    """

    vehicle: Vehicle
    attempt: Attempt
    payload: float
    shortfall: float
    mission: Mission
    acceleration: float | None = None


def heaviest_flight_seen(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """As `heaviest_flight`.

    None also where no flight keeps to the limits wherever it ends, and a lighter one still less.
    """
    broken = [one for one in attempts if one.least_violation_anywhere]
    if broken and not any(violates_less_when_lighter(task, one) for one in broken):
        return None
    return heaviest_flight(task, attempts)


def heaviest_flight(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """The greatest payload below the one asked, or an attempt that flies what was asked.

    None where not even a light payload is seen to fly. Where the limit on acceleration leaves
    propellant unburned, what flies within a looser one. In haste: what is not found so has never
    been found with patience.
    """
    hasty = task.in_haste()
    task.watch.begins("the greatest payload that flies")
    try:
        if lets_burn_out(task, _empty(task.vehicle)):
            return _heaviest_climbed_to(hasty, attempts)
        return _within_tight_limit(hasty, attempts)
    except TimeIsUp:
        return None


def _within_tight_limit(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """The greatest payload where engines may have to stop early, or what a looser limit lets fly.

    A payload that lets less be burned than a heavier one does is told by both, and one that flies
    within no limit by the greatest that does.
    """
    most = payload_of_most_delta_v(task.vehicle, task.acceleration_limit)
    too_light = task.vehicle.payload_mass < most
    found = None if too_light else _heaviest_climbed_to(task, attempts)
    if found is not None:
        return found
    eased = least_acceleration(task, _least_shortfall(attempts))
    if isinstance(eased, Attempt):
        return eased
    if not too_light and eased is not None:
        return _lightened(task, eased) or _eased(task, eased)
    if too_light and (eased is None or eased.shortfall < _gain(task, most) + SPARE):
        found = _heaviest_climbed_to(task, attempts)
    if isinstance(found, HeaviestFlight):
        return replace(found, shortfall=found.shortfall if eased is None else eased.shortfall)
    return _heaviest_when_burned_out(task, attempts) if eased is None else _eased(task, eased)


def _lightened(task: Task, eased: BearableAcceleration) -> HeaviestFlight | None:
    """The greatest payload within the limit, from the flight of the one asked in a looser one.

    Limit and payload go down together, by as much ideal delta-v: no step of one alone is led to.
    """
    looser, asked = eased.mission.limits.axial_acceleration or 0.0, task.acceleration_limit or 0.0
    kept = eased.attempt.sequence.reserve
    able = ideal_delta_v(task.vehicle, kept, looser)
    here, vehicle, done, step = eased.attempt, task.vehicle, 0.0, 1.0
    while done < 1.0 and step > 0.5**FAILURES:
        there = min(done + step, 1.0)
        limit = (1.0 - there) * looser + there * asked
        gain = MORE_LOST * (able - ideal_delta_v(task.vehicle, kept, limit)) + SPARE
        payload = payload_with(task.vehicle, gain, kept, limit)
        lighter = vehicle if payload is None else replace(vehicle, payload_mass=payload)
        rung = within_tighter(within(replace(task, vehicle=lighter), limit), here)
        if rung is None:
            step *= 0.5
        else:
            here, vehicle, done = rung.attempt, lighter, there
    top = climb(task, vehicle, here) if done == 1.0 else None
    return None if top is None else _heaviest(task, *top, None)


def _empty(vehicle: Vehicle) -> Vehicle:
    """Without payload: it accelerates most, and no other leaves more unburned."""
    return replace(vehicle, payload_mass=0.0)


def _gain(task: Task, payload: float) -> float:
    """Ideal delta-v in m/s that another payload has more than the one asked."""
    other = replace(task.vehicle, payload_mass=payload)
    able = [ideal_delta_v_within(one, task.acceleration_limit) for one in (other, task.vehicle)]
    return able[0] - able[1]


def _heaviest_when_burned_out(task: Task, attempts: list[Attempt]) -> HeaviestFlight | None:
    """The greatest payload within a limit that leaves nothing unburned, whatever is carried."""
    loose = letting_burn_out(task, _empty(task.vehicle))
    within_own = [replace(one, overdrawn_flight=None) for one in attempts]
    light = _heaviest_climbed_to(loose, within_own)
    if not isinstance(light, HeaviestFlight):
        return None
    able = [ideal_delta_v_within(task.vehicle, one.acceleration_limit) for one in (loose, task)]
    told = letting_burn_out(task, replace(task.vehicle, payload_mass=light.payload))
    short = light.shortfall + able[0] - able[1]
    return replace(light, shortfall=short, acceleration=told.acceleration_limit)


def _eased(task: Task, eased: BearableAcceleration) -> HeaviestFlight:
    return HeaviestFlight(
        vehicle=task.vehicle,
        attempt=eased.attempt,
        payload=task.vehicle.payload_mass,
        shortfall=eased.shortfall,
        mission=eased.mission,
        acceleration=eased.limit,
    )


def _heaviest_climbed_to(task: Task, attempts: list[Attempt]) -> HeaviestFlight | Attempt | None:
    """From one light flight after another, up to the first whose climb does not end early.

    Where `CLIMBS` end early the best of them.
    """
    tops: list[tuple[Vehicle, Attempt]] = []
    for light, flight in _light_flights(task, attempts):
        if flight.sequence.ballasted:
            return _with_ballast_for_payload(task, light, flight)
        top = climb(_without_end(task, light), light, flight)
        tops += [] if top is None else [top]
        if top is not None and top[0].payload_mass == task.vehicle.payload_mass:
            return top[1]
        ended = top is not None and delta_v_left(*top, task.acceleration_limit) < STUCK
        if ended or len(tops) == CLIMBS:
            break
    best = max(tops, key=lambda one: one[0].payload_mass, default=None)
    return None if best is None else _heaviest(task, *best, _least_shortfall(attempts))


def _without_end(task: Task, lighter: Vehicle) -> Task:
    """The task of the climb from a vehicle: to no payload at all where more is asked already."""
    if lighter.payload_mass <= task.vehicle.payload_mass:
        return task
    return replace(task, vehicle=replace(lighter, payload_mass=lighter.lift_off_mass))


def _heaviest(
    task: Task, vehicle: Vehicle, flight: Attempt, short: float | None
) -> HeaviestFlight | None:
    """What the heaviest vehicle's flight says of the one asked; None where that may fly.

    Where its climb has ended early it is no lack of propellant that holds it: what seems to be
    missing, ``short`` m/s, may then be more than what the tanks lack.
    """
    limit, kept = task.acceleration_limit, flight.sequence.reserve
    left = delta_v_left(vehicle, flight, limit)
    able, asked = (ideal_delta_v(one, kept, limit) for one in (vehicle, task.vehicle))
    missing = able - left - asked
    if left >= STUCK:
        missing = max(missing, short or 0.0)
        named: float | None = vehicle.payload_mass
    else:
        named = payload_with(vehicle, TO_SPARE - left, kept, limit)
    if missing <= REACHED_EXACTLY:
        return None
    payload = vehicle.payload_mass if named is None else named
    return HeaviestFlight(vehicle, flight, payload, missing, task.mission)


def _with_ballast_for_payload(
    task: Task, vehicle: Vehicle, flight: Attempt
) -> HeaviestFlight | None:
    """Where no engine can be cut off, ballast and payload together are the greatest payload."""
    carried = vehicle.payload_mass + (flight.flown_plan.ballast or 0.0)
    most = replace(vehicle, payload_mass=carried)
    missing = most.ideal_delta_v - task.vehicle.ideal_delta_v
    if missing <= REACHED_EXACTLY:
        return None
    return HeaviestFlight(vehicle, flight, carried, missing, task.mission)


def _light_flights(task: Task, attempts: list[Attempt]) -> Iterator[tuple[Vehicle, Attempt]]:
    """Vehicles and their flights within the limits, those first that promise most.

    First the vehicle itself with its tank overdrawn, then lighter ones: no lighter one where the
    limits are broken, and the more the lighter it is.
    """
    asked, last = task.vehicle, len(task.vehicle.stages) - 1
    itself = (overdrawn(task, one) for one in _by_shortfall(attempts))
    yield from ((asked, one) for one in islice(filter(None, itself), FLIGHTS))
    for payload in _light_payloads(task, attempts):
        lighter = replace(asked, payload_mass=payload)
        light = with_relaxed_tank(replace(task, vehicle=lighter))
        found = list(structures_without_load_limits(light, [], last))
        within, broken = _within_limits(light, found)
        yield from ((lighter, one) for one in within)
        if broken is not None and not violates_less_when_lighter(light, broken):
            return


def _within_limits(light: Task, found: list[Attempt]) -> tuple[list[Attempt], Attempt | None]:
    """Some flights within the limits, and one that breaks them as little as can be.

    None of the latter where there is none. What one breaks on its way through the air, the others
    of the same vehicle break as well.
    """
    kept: list[Attempt] = []
    for one in _reached_first(found):
        limited = impose_limits(light, one)
        if limited.least_violation is not None and not kept:
            return [], limited
        kept += [limited] if limited.flies else []
        if len(kept) == FLIGHTS:
            break
    return kept, None


def _reached_first(attempts: list[Attempt]) -> list[Attempt]:
    """Those that reach the orbit, the one with most left at the top."""
    return [one for one in best_first(attempts) if one.reached]


def _light_payloads(task: Task, attempts: list[Attempt]) -> list[float]:
    """Payloads in kg to begin from, the heavier first: as light as it seems it must be, or all but.

    Far below the greatest payload a flight may be of another kind, and a motor, which nothing
    throttles, may accelerate beyond the limit. Where a limit on acceleration leaves propellant
    unburned the payload that lets most of it be burned has the most speed, be it a heavier one than
    what is asked.
    """
    asked, limit = task.vehicle, task.acceleration_limit
    borne = payload_that_motors_bear(asked, task.mission)
    lightest = max(FAR * asked.payload_mass, min(borne, asked.payload_mass))
    least = max(lightest, payload_of_most_delta_v(asked, limit))
    if least > asked.payload_mass:
        return [least]
    able = ideal_delta_v_within(replace(asked, fairing=None), limit)
    short = _least_shortfall(attempts) or usual_delta_v(task.mission) - able
    gain = short if may_overdraw(task) else AMPLE * short + SPARE
    near = payload_with(asked, gain, 0.0, limit) or least
    return sorted({least, min(max(near, least), asked.payload_mass)}, reverse=True)


def _by_shortfall(attempts: list[Attempt]) -> list[Attempt]:
    """Those that fall short, the nearest first."""
    known = [one for one in attempts if one.shortfall]
    return sorted(known, key=lambda one: one.shortfall or 0.0)


def _least_shortfall(attempts: list[Attempt]) -> float | None:
    """What seems to be missing, m/s."""
    return min((one.shortfall for one in attempts if one.shortfall), default=None)

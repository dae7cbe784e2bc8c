"""What can be said of a vehicle with which no start leads anywhere.

One that never climbs to where its fairing may go has no flight in any program: with the fairing on
to the end it has, and lighter ones fly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.flight.plan import direct
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.deadline import TimeIsUp
from ascentopt.optimal.diagnosis import Diagnosis, diagnose, relief_of
from ascentopt.optimal.replay import replayed
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structures import plans_of
from ascentopt.optimal.transfer import carrying
from ascentopt.optimal.variations import Case

SHARES = (0.5, 0.2, 0.0)
"""Of the payload, with which a flight is looked for in turn."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Grounded:
    """The flight that comes nearest with the fairing on to the end, and what is to be said of it.

    Its speed is missing at most: to drop the fairing, could it be done, would help.
    """

    attempt: Attempt
    diagnosis: Diagnosis


def grounded(solving: Solving) -> Grounded | None:
    """Of a vehicle of which nothing is known; None where that is not solved either, or flies."""
    if solving.vehicle.fairing is None:
        return None
    try:
        nearest = _nearest(replace(solving, vehicle=carrying(solving.vehicle)))
    except TimeIsUp:
        return None
    return None if nearest is None else _told(solving, nearest)


def _nearest(solving: Solving) -> Attempt | None:
    last = len(solving.vehicle.stages) - 1
    tried = [solving.once(plan) for plan in plans_of(solving.vehicle, solving.mission, last)]
    if all(one.shortfall is None for one in tried):
        tried = [solving.attempt(tried[0].plan)]
    if any(one.reached for one in tried):
        return None
    short = [one for one in tried if one.shortfall is not None and one.nearest is not None]
    return min(short, key=lambda one: one.shortfall or 0.0, default=None)


def _told(solving: Solving, attempt: Attempt) -> Grounded:
    case = Case(carrying(solving.vehicle), solving.mission)
    payload, limited = _payload(solving)
    diagnosis = Diagnosis(
        shortfall=attempt.shortfall or 0.0,
        payload=payload,
        limited=limited,
        relief=relief_of(replace(solving, vehicle=case.vehicle), attempt),
        trajectory=replayed(case, replace(attempt, solution=attempt.nearest)),
    )
    return Grounded(attempt=attempt, diagnosis=diagnosis)


def _payload(solving: Solving) -> tuple[float | None, bool]:
    """Payload in kg that reaches the orbit, from lighter vehicles; whether within the limits."""
    for share in SHARES:
        lighter = replace(solving.vehicle, payload_mass=share * solving.vehicle.payload_mass)
        own = replace(solving, vehicle=lighter)
        try:
            attempt = own.once(direct(lighter))
            if attempt.reached:
                return lighter.payload_mass, own.at_once(attempt).limited
        except TimeIsUp:
            return None, False
        if attempt.nearest is not None and attempt.shortfall is not None:
            found = diagnose(own, attempt)
            return found.payload, found.limited
    return None, False

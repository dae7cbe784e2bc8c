"""The greatest payload that reaches the orbit within the limits, as one program.

Where nothing is found for the payload asked, a lighter one may fly, and the payload is then a free
number that is made as great as can be, up to what was asked: if that is reached, the vehicle flies
after all. Otherwise what is missing is told by the rocket equation: so much more ideal delta-v the
vehicle has with the greatest payload. That depends on no path of the solver, and grows with the
payload asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from ascentopt.collocation import NotConverged, Problem, solve
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.model import MASS
from ascentopt.flight.sequence import Sequence
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.deadline import TimeIsUp
from ascentopt.optimal.imposing import limited
from ascentopt.optimal.run import HEAVIER, Run, pass_on_interrupt
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structures import free
from ascentopt.optimal.transcription import Transcription
from ascentopt.rocket import Vehicle

AMPLE, SPARE = 1.2, 50.0
"""Times the speed that seems to be missing, and m/s beside it, that the lighter payload gains: what
seems to be missing may be too little, and where much is left the first flight is found at once."""

FAR = 0.02
"""Share of the payload asked that the lightest one keeps: with none at all the last stage of a
small vehicle may have nothing to push."""

STRUCTURES = 2
"""Of the lighter vehicle's, the best ones, for which the greatest payload is looked for."""

TO_SPARE = 3.0
"""m/s that the payload named has left: the first mesh may be wrong by 2 m/s."""


@dataclass(frozen=True, eq=False)
class Heaviest:
    """The flight with the greatest payload.

    Attributes:
        payload: kg, with something to spare; shortfall: m/s that are missing for what was asked.
        flown_payload: kg that its flight carries, with nothing to spare.
        light: the vehicle with the payload from which the greatest was looked for.
        attempt: the flight, of the lighter vehicle and what it carries beside its payload.
    """

    payload: float
    shortfall: float
    flown_payload: float
    light: Vehicle
    attempt: Attempt


def heaviest(solving: Solving, attempts: list[Attempt]) -> Heaviest | Attempt | None:
    """The greatest payload below the one asked, or an attempt that flies what was asked.

    None where not even a light payload is seen to fly.
    """
    asked = solving.vehicle.payload_mass
    try:
        found = [
            one
            for light in islice(_light_flights(solving, attempts), STRUCTURES)
            if (one := _with_most(solving, light)) is not None
        ]
    except TimeIsUp:
        return None
    if not found:
        return None
    best = max(found, key=lambda one: one[0])
    if best[0] >= asked - 1e-6 * max(asked, 1.0):
        flown = _as_asked(solving, best[1])
        if flown is not None:
            return flown
    gained = _ideal(solving.vehicle, best[0]) - solving.vehicle.ideal_delta_v
    named = _payload_with(solving.vehicle, gained + TO_SPARE)
    light = best[1].sequence.mass - _without_payload(solving.vehicle)
    return Heaviest(
        payload=best[0] if named is None else named,
        shortfall=max(gained, 0.0),
        flown_payload=best[0],
        light=replace(solving.vehicle, payload_mass=light),
        attempt=best[1],
    )


def _light_flights(solving: Solving, attempts: list[Attempt]) -> Iterator[Attempt]:
    """Flights of a lighter vehicle within the limits, the best structure first."""
    short = min((one.shortfall for one in attempts if one.shortfall), default=None)
    asked = solving.vehicle.payload_mass
    near = None if short is None else _payload_with(solving.vehicle, AMPLE * short + SPARE)
    for payload in sorted({FAR * asked, near or FAR * asked}, reverse=True):
        light = replace(solving, vehicle=replace(solving.vehicle, payload_mass=payload))
        found: list[Attempt] = []
        free(light, found, len(light.vehicle.stages) - 1)
        flying = [one for one in limited(light, found) if one.reached and one.limited]
        if flying:
            yield from flying
            return


def _with_most(solving: Solving, light: Attempt) -> tuple[float, Attempt] | None:
    """The greatest payload, up to the one asked, of a lighter vehicle's structure."""
    payload = light.sequence.mass - _without_payload(solving.vehicle)
    vehicle = replace(solving.vehicle, payload_mass=payload)
    room = solving.vehicle.payload_mass - payload
    sequence = replace(light.sequence, ballasted=True, most_ballast=room)
    problem = _problem(solving, replace(light, sequence=sequence), vehicle)
    settings = replace(solving.settings, near_barrier=HEAVIER)
    start = light.found.as_guess()
    try:
        found = solve(problem, replace(start, near=True), solving.deadline.settings(settings))
    except NotConverged as failure:
        pass_on_interrupt(failure)
        return None
    lifted = float(found.arcs[0].states[0, MASS]) - sequence.mass
    return payload + lifted, replace(light, sequence=sequence, solution=found, limited=False)


def _problem(solving: Solving, light: Attempt, vehicle: Vehicle) -> Problem:
    told: Transcription = light.told_of(vehicle, solving.mission, light.sequence, light.found)
    return told.most_lift_off_mass()


def _without_payload(vehicle: Vehicle) -> float:
    return vehicle.lift_off_mass - vehicle.payload_mass


def _as_asked(solving: Solving, heavy: Attempt) -> Attempt | None:
    """The vehicle's own flight from one with as much payload; None where that is not solved."""
    sequence: Sequence = sequence_of(solving.vehicle, solving.mission, heavy.plan)
    begun = replace(heavy, sequence=sequence)
    found = Run.resumed(solving, begun).solved(
        solving.mission.limits, heavy.watched, replace(heavy.found.as_guess(), near=True)
    )
    if not found.reached:
        return None
    kept = solving.within_limits(found)
    return kept if kept.limited else None


def _ideal(vehicle: Vehicle, payload: float) -> float:
    return replace(vehicle, payload_mass=payload).ideal_delta_v


def _payload_with(vehicle: Vehicle, gain: float) -> float | None:
    """Payload in kg with which the ideal delta-v is so many m/s more; None where there is none."""
    from scipy.optimize import brentq

    wanted = vehicle.ideal_delta_v + gain
    if _ideal(vehicle, 0.0) <= wanted or gain <= 0.0:
        return None
    return float(brentq(lambda p: _ideal(vehicle, p) - wanted, 0.0, vehicle.payload_mass))

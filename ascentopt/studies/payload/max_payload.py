"""The search for the heaviest payload that a vehicle brings to the orbit."""

from __future__ import annotations

from logging import getLogger

from ascentopt.arguments import checked
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.studies.payload.arrival import GreatestPayload
from ascentopt.studies.payload.greatest import MaxPayload
from ascentopt.studies.payload.holder import Holder, acting_limits, holder_of
from ascentopt.studies.payload.search import PayloadSearch, left_over
from ascentopt.validation import within

_LOG = getLogger("ascentopt.studies")


@checked
def max_payload(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort = Effort(),
    *,
    reserve: float = 0.0,
    progress: Progress[MaxPayload] | None = None,
    time_limit: float | None = None,
) -> MaxPayload:
    """Return the greatest payload that leaves the reserve in the stage that reaches the orbit.

    One program, in which the payload is free and made greatest beside the trajectory, on the
    structure that is best next to that payload; mostly 0.2 to 1.5 times the time of one
    `optimize`. The payload of the description does not matter. The answer's ascent is solved, flown
    and certified like any.

    Args:
        vehicle, mission: as in `optimize`.
        effort: as in `optimize`.
        reserve: kg of propellant to be left at insertion.
        progress: is given a `Step` for each structure, move and payload; its ``so_far`` is the
            heaviest flight that is known.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: a negative reserve, or a vehicle that its engines do not lift without payload.
        InfeasibleAscent: even without payload the orbit is not reached, or the reserve not left.
        Interrupted: by the keyboard; `best` is the heaviest payload so far, if one was flown.
        OutOfTime: likewise, when the time is up.
    """
    fix = "Give the propellant to be left in kg, no more than the vehicle holds."
    within("max_payload", "reserve", reserve, "kg", (0.0, vehicle.propellant_mass), fix)
    watch = Watch("max_payload", _LOG, progress, time_limit)
    search = PayloadSearch(vehicle, mission, effort, reserve, watch)
    done: list[MaxPayload] = []

    def so_far() -> MaxPayload | None:
        return done[0] if done else _unfinished(search.so_far(), reserve)

    with watch.carrying("heaviest payload", so_far):
        done.append(_result(search.result(), reserve))
    return done[0]


def _unfinished(ascent: Ascent | None, reserve: float) -> MaxPayload | None:
    """A flight on the way, as if its payload were the greatest."""
    if ascent is None:
        return None
    held_by = Holder.unknown("nothing that is known: the search was stopped")
    return _of(ascent, reserve, held_by)


def _result(found: GreatestPayload, reserve: float) -> MaxPayload:
    return _of(found.optimum.ascent, reserve, holder_of(found), acting_limits(found.optimum.ascent))


def _of(
    ascent: Ascent, reserve: float, held_by: Holder, limits: tuple[Holder, ...] = ()
) -> MaxPayload:
    return MaxPayload(
        payload=ascent.vehicle.payload_mass,
        reserve=reserve,
        surplus=left_over(ascent) - reserve,
        held_by=held_by,
        limits=limits,
        ascent=ascent,
    )

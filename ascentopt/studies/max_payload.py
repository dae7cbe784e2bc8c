"""The heaviest payload that a vehicle brings to the orbit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import takewhile
from math import exp, inf

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.mission import Mission
from ascentopt.optimal.ascent import Ascent
from ascentopt.optimal.optimize import Effort, optimize
from ascentopt.rocket import Vehicle
from ascentopt.units import STANDARD_GRAVITY
from ascentopt.validation import not_negative

CLOSE = 1e-4
"""Of payload and dry last stage together: what may be left above the reserve."""

NARROW = 2e-3
"""Of the payload: the search ends where the heaviest that flies and the lightest that does not are
this close."""

MOST_SOLVES = 25
"""Two or three do where the propellant decides; halving what is between needs about ten."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MaxPayload:
    """The greatest payload, with the ascent that carries it.

    Args:
        payload: kg.
        reserve: kg of propellant that had to be left.
        surplus: kg that are left above it: next to nothing where the propellant decides.
        held_by: what decides: the propellant, or why the next heavier payload was refused.
        ascent: with this payload, solved and certified like any other.
        solves: how many ascents were solved for, refusals included.
    """

    payload: float
    reserve: float
    surplus: float
    held_by: str
    ascent: Ascent
    solves: int

    def __str__(self) -> str:
        vehicle, mission = self.ascent.vehicle, self.ascent.mission
        return (
            f"{vehicle.name}: {self.payload:.2f} kg of payload to the {mission.orbit} of "
            f"{mission.body.name}, with {self.reserve + self.surplus:.2f} kg of propellant left "
            f"({self.reserve:.2f} kg asked for)\n"
            f"  held by {self.held_by}; {self.solves} ascents solved for"
        )


def max_payload(
    vehicle: Vehicle, mission: Mission, effort: Effort = Effort(), *, reserve: float = 0.0
) -> MaxPayload:
    """Return the greatest payload that leaves the reserve in the stage that reaches the orbit.

    Newton's method on the propellant left, whose slope is the price of the payload, kept between
    what is known to fly and what is known not to. It starts at the payload of the description.

    Args:
        vehicle, mission: as in `optimize`.
        effort: as in `optimize`, for every ascent.
        reserve: kg of propellant to be left at insertion.

    Raises:
        InputError: a negative reserve, or a vehicle that its engines do not lift without payload.
        InfeasibleAscent: even without payload the orbit is not reached, or the reserve not left.
    """
    not_negative("max_payload", "reserve", reserve, "kg", "Give the propellant to be left in kg.")
    question = _Question(vehicle, mission, effort, reserve)
    trials = [question.answered(vehicle.payload_mass)]
    while len(trials) < MOST_SOLVES:
        payload = _next(trials)
        if payload is None:
            break
        trials.append(question.answered(payload))
    return _result(trials, reserve)


@dataclass(frozen=True, eq=False)
class _Trial:
    """A payload that was tried.

    Attributes:
        payload: kg.
        surplus: kg of propellant above the reserve; an estimate where there is no ascent, -inf
            where there is not even that.
        slope: kg of surplus for each kg of payload; a guess where there is no ascent.
        close: kg of surplus that are next to nothing.
        verdict: why it is refused, empty where it is not.
        ascent: None where the orbit is not reached.
    """

    payload: float
    surplus: float
    slope: float
    close: float
    verdict: str
    ascent: Ascent | None

    @property
    def flies(self) -> bool:
        return self.surplus >= 0.0

    def root(self) -> float:
        """Payload that would leave half of what is next to nothing, by the slope."""
        return max(self.payload - (self.surplus - 0.5 * self.close) / self.slope, 0.0)


@dataclass(frozen=True)
class _Question:
    vehicle: Vehicle
    mission: Mission
    effort: Effort
    reserve: float

    def answered(self, payload: float) -> _Trial:
        """Solve for this payload. Without payload nothing is left to try, so refusals go out."""
        loaded = replace(self.vehicle, payload_mass=payload)
        close = CLOSE * (payload + self.vehicle.stages[-1].dry_mass)
        try:
            ascent = optimize(loaded, self.mission, self.effort)
        except (InfeasibleAscent, InputError) as refusal:
            if payload == 0.0:
                raise
            return _Trial(payload, -self._missing(payload, refusal), -1.0, close,
                          str(refusal), None)  # fmt: skip
        surplus, verdict = ascent.propellant_margin - self.reserve, ""
        if surplus < 0.0:
            verdict = (
                f"{self.vehicle.name} with {payload:.2f} kg of payload leaves "
                f"{ascent.propellant_margin:.2f} kg of propellant in the orbit; "
                f"{self.reserve:.2f} kg are asked for."
            )
        if verdict and payload == 0.0:
            raise InfeasibleAscent(f"{verdict} Ask for less, or add propellant.", best=ascent)
        return _Trial(payload, surplus, ascent.prices["payload"].margin, close, verdict, ascent)

    def _missing(self, payload: float, refusal: Exception) -> float:
        """Propellant for the missing speed, by the rocket equation on what reaches the orbit."""
        short = getattr(refusal, "shortfall", None)
        if short is None:
            return inf
        last = self.vehicle.stages[-1]
        ratio = exp(short / (STANDARD_GRAVITY * last.engine.vacuum_isp))
        return (payload + last.dry_mass) * (ratio - 1.0) + self.reserve


def _bracket(trials: list[_Trial]) -> tuple[_Trial | None, _Trial | None]:
    """The heaviest that flies, and the lightest heavier one that does not."""
    low = max((t for t in trials if t.flies), key=lambda t: t.payload, default=None)
    least = low.payload if low is not None else -inf
    above = (t for t in trials if not t.flies and t.payload > least)
    return low, min(above, key=lambda t: t.payload, default=None)


def _next(trials: list[_Trial]) -> float | None:
    """Payload to try next; None when the answer is known."""
    low, high = _bracket(trials)
    if low is not None and low.surplus <= low.close:
        return None
    floor = low.payload if low is not None else 0.0
    ceiling = high.payload if high is not None else inf
    if low is not None and high is not None and ceiling - floor <= NARROW * ceiling:
        return None
    wanted = _wanted(trials)
    inside = floor < wanted < ceiling or (low is None and wanted == 0.0)
    return wanted if inside else 0.5 * (floor + ceiling)


def _wanted(trials: list[_Trial]) -> float:
    """By the last trial; while nothing is known but refusals, down by 2, 4, 8 ... per cent."""
    unknown = len(list(takewhile(lambda t: t.surplus == -inf, reversed(trials))))
    if unknown:
        return max(trials[-1].payload * (1.0 - 0.01 * 2.0**unknown), 0.0)
    return trials[-1].root()


def _result(trials: list[_Trial], reserve: float) -> MaxPayload:
    low, high = _bracket(trials)
    if low is None or low.ascent is None:
        raise InfeasibleAscent(f"No payload was found that flies. {trials[-1].verdict}")
    refused = high is not None and low.surplus > low.close
    return MaxPayload(
        payload=low.payload,
        reserve=reserve,
        surplus=low.surplus,
        held_by=f"a refusal: {high.verdict}" if refused and high is not None else "the propellant",
        ascent=low.ascent,
        solves=len(trials),
    )

"""What a solve of one point of a sweep came to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any, ClassVar

from ascentopt.arguments import checked_kinds
from ascentopt.baselines.input_partials import input_partials
from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.partials import Partials
from ascentopt.persistence import SavedResult
from ascentopt.studies.sweep.schedule import Solve
from ascentopt.tables import one_line

BETTER_BY = 1e-6
"""Share of the vehicle's propellant by which an answer must leave more to take another's place:
what one structure leaves from two starts differs by less."""

NEARER_BY = 0.1
"""m/s by which a refusal must miss less to take another's place: what a refusal tells of is no
finer."""


class PointOutcome(Enum):
    """How a point came out."""

    FLIES = "flies"
    REFUSED = "refused"
    WRONG_INPUT = "wrong input"


@checked_kinds
@dataclass(frozen=True, eq=False, kw_only=True)
class SweepAnswer(SavedResult):
    """A solve of one point of a sweep, in numbers.

    Args:
        point: its number.
        serial: how many times it was solved before.
        near: point and serial of the answer that it was solved from; empty for one from nothing.
        outcome: whether it flies.
        seconds: of the clock that the solve took.
        plan, verdict: of the ascent, in words; empty without one.
        propellant_used, propellant_margin, ballast, final_mass, flight_time: of the ascent, kg and
            s; None without one.
        partials: of the ascent; None without one.
        slopes: the same under the places of inputs, as baselines have them: kg more that are used
            for one SI unit more.
        compared: plans that were solved for beside it.
        capacity: kg of propellant that the vehicle holds.
        shortfall: m/s that are missing; None where it flies, or that is not known.
        lighter: kg of payload with which it flies, where the refusal names one.
        in_the_way: limits that would help if they were relaxed, the most helpful first.
        reason: why it does not fly; empty where it does.
    """

    point: int
    serial: int
    near: tuple[int, ...]
    outcome: PointOutcome
    seconds: float
    plan: str = ""
    verdict: str = ""
    propellant_used: float | None = None
    propellant_margin: float | None = None
    ballast: float | None = None
    final_mass: float | None = None
    flight_time: float | None = None
    partials: Partials | None = None
    slopes: tuple[tuple[str, float], ...] = ()
    compared: tuple[str, ...] = ()
    capacity: float = 0.0
    shortfall: float | None = None
    lighter: float | None = None
    in_the_way: tuple[str, ...] = ()
    reason: str = ""

    _form: ClassVar = "answer of a sweep"

    @property
    def flies(self) -> bool:
        """Whether there is an ascent."""
        return self.outcome is PointOutcome.FLIES

    @property
    def settled(self) -> bool:
        """Whether it is the same from whatever neighbour: the description itself is refused."""
        return self.outcome is PointOutcome.WRONG_INPUT

    @property
    def structure(self) -> str:
        """The plan; empty where nothing flies."""
        return self.plan

    @property
    def solve(self) -> Solve:
        """The solve whose answer it is."""
        return Solve(self.point, self.serial, (self.near[0], self.near[1]) if self.near else None)

    @property
    def left(self) -> float:
        """Propellant left in the orbit in kg, ballast counted, as no engine may be cut off."""
        return (self.propellant_margin or 0.0) + (self.ballast or 0.0)

    def beats(self, other: SweepAnswer) -> bool:
        """Whether it takes the place of another answer of its point."""
        if self.flies != other.flies:
            return self.flies
        if self.flies:
            return self.left > other.left + BETTER_BY * self.capacity
        if self.shortfall is None or other.shortfall is None:
            return self.shortfall is not None
        return self.shortfall < other.shortfall - NEARER_BY

    def __str__(self) -> str:
        if self.flies:
            return f"{self.left:.2f} kg left, {self.plan}"
        missing = f", short by {self.shortfall:.1f} m/s" if self.shortfall is not None else ""
        return f"{self.outcome.value}{missing}"

    def __repr__(self) -> str:
        return one_line(self, f"point {self.point}", self)


def of_ascent(solve: Solve, ascent: Ascent, seconds: float) -> SweepAnswer:
    """The answer that an ascent is."""
    return SweepAnswer(
        **_head(solve, seconds),
        outcome=PointOutcome.FLIES,
        plan=str(ascent.plan),
        verdict=ascent.certificate.verdict.name.lower(),
        propellant_used=ascent.propellant_used,
        propellant_margin=ascent.propellant_margin,
        ballast=ascent.ballast,
        final_mass=ascent.final_mass,
        flight_time=ascent.flight_time,
        partials=ascent.partials,
        slopes=tuple(input_partials(ascent).items()),
        compared=tuple(
            dict.fromkeys(str(one.plan) for one in ascent.candidates if one.shortfall is not None)
        ),
        capacity=ascent.vehicle.propellant_mass,
    )


def of_refusal(
    solve: Solve, refusal: InfeasibleAscent | InputError, seconds: float
) -> SweepAnswer:
    """The answer that a refusal is."""
    if isinstance(refusal, InputError):
        wrong = PointOutcome.WRONG_INPUT
        return SweepAnswer(**_head(solve, seconds), outcome=wrong, reason=str(refusal))
    diagnosis, violation = refusal.diagnosis, refusal.least_violation
    relief = [one.limit for one in diagnosis.relief] if diagnosis is not None else []
    acting = [str(one) for one in violation.active_limits] if violation is not None else []
    return SweepAnswer(
        **_head(solve, seconds),
        outcome=PointOutcome.REFUSED,
        shortfall=refusal.shortfall,
        lighter=diagnosis.payload if diagnosis is not None else None,
        in_the_way=tuple(relief or acting),
        reason=refusal.message,
    )


def _head(solve: Solve, seconds: float) -> dict[str, Any]:
    own = {"point": solve.point, "serial": solve.serial, "seconds": seconds}
    return {**own, "near": solve.near or ()}

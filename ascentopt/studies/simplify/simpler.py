"""Pitch programmes that a person can fly, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path

from ascentopt import persistence
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.programme import Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.units import signed

_VERSION = 1
_FORM = "simpler programme"


@dataclass(frozen=True, kw_only=True)
class SimplerProgramme:
    """A pitch programme with few knots.

    Args:
        law: what is flown, by `fly`; its pitch is linear between the knots and constant beyond
            them. A last burn after a coast is horizontal.
        knots: pairs of the abscissa (s since lift-off, or m of altitude) and the pitch in rad above
            the local horizontal.
        against: what the abscissae count.
        flight: into the orbit, by the independent simulator.
        propellant_used: kg.
        penalty: kg beyond the optimum's propellant; where a limit is broken it may be below zero.
        broken: limits of the mission that so few knots could not keep.
        lift_off_time: s; None where any instant is as good, or the mission's is kept.
    """

    law: SteeringLaw
    knots: tuple[tuple[float, float], ...]
    against: Against
    flight: Flight
    propellant_used: float
    penalty: float
    broken: tuple[Excess, ...] = ()
    lift_off_time: float | None = None

    __hash__ = None  # type: ignore[assignment]

    @property
    def throttling(self) -> ThrottleProgramme | None:
        """The throttle that goes with it; None for full thrust."""
        return self.law.throttling if isinstance(self.law, Programme) else None

    def __str__(self) -> str:
        """The knots as a table, how the arcs end, and what it costs."""
        places, pitches = zip(*self.knots, strict=True)
        table = Knots(against=self.against, abscissae=places, pitches=pitches)
        ends = [f"  {end.arc:30}{end.time:10.2f} s  {end.ending}" for end in self.flight.ends]
        beyond = f", but it breaks {len(self.broken)} of its limits" if self.broken else ""
        cost = f"{signed(self.penalty, 2)} kg on the optimum{beyond}"
        lines = [
            f"pitch programme with {len(self.knots)} knots: {cost}",
            *([] if self.lift_off_time is None else [f"lifts off at {self.lift_off_time:.1f} s"]),
            str(table),
            *([] if self.throttling is None else [str(self.throttling)]),
            "arcs end at",
            *ends,
            *(f"breaks the limit: {excess}" for excess in self.broken),
            "Preliminary analysis only.",
        ]
        return "\n".join(lines)

    def save(self, path: str | Path) -> None:
        """Write JSON that `load` reads without flying anything."""
        persistence.save(path, _FORM, _VERSION, self)

    @classmethod
    def load(cls, path: str | Path) -> SimplerProgramme:
        """Read what `save` wrote. Raises `InputError` for any other file."""
        data = persistence.saved(path, "SimplerProgramme", _FORM, (_VERSION,))
        found = {one.name: persistence.decode(data.get(one.name)) for one in fields(cls)}
        return cls(**found)

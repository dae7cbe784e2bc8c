"""Pitch programmes that a person can fly, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from ascentopt.arguments import checked_kinds
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.flight.simulation.fly_again import as_flown, second_flight, verified_flight
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import SavedResult
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against, pitch_rows
from ascentopt.steering.programme import Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.units import signed


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class SimplerProgramme(SavedResult, Tabular):
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

    _form: ClassVar = "simpler programme"
    _version: ClassVar = 2
    _unsigned: ClassVar = 1

    @property
    def throttling(self) -> ThrottleProgramme | None:
        """The throttle that goes with it; None for full thrust."""
        return self.law.throttling if isinstance(self.law, Programme) else None

    def verify(self, ascent: Ascent) -> Verification:
        """Fly it again beside the ascent that it was made of, as `Ascent.verify` does."""
        subject = f"pitch programme with {len(self.knots)} knots"
        mission = as_flown(ascent.mission, self.flight.trajectory)
        again = second_flight(ascent.flown_vehicle, mission, self.law)
        cost = self.propellant_used - ascent.propellant_used
        penalty = Check(
            quantity="penalty", kept=self.penalty, found=cost, tolerance=MEASURED, unit="kg"
        )
        return verified_flight(subject, self.flight, again, self.propellant_used, penalty)

    def to_table(self) -> Table:
        """A row for each knot: abscissa, and pitch in rad; the notes say what else to do when."""
        knots = pitch_rows(self.against, self.knots)
        return replace(knots, notes=(*self._lines_above, *self._lines_below))

    @property
    def _cost(self) -> str:
        beyond = f", but it breaks {len(self.broken)} of its limits" if self.broken else ""
        return f"{signed(self.penalty, 2)} kg on the optimum{beyond}"

    def _repr_html_(self) -> str:
        ends = Table.of(
            "arcs end",
            [("arc", ""), ("time", "s"), ("by", "")],
            [(end.arc, end.time, end.ending) for end in self.flight.ends],
        )
        broken = [excess.in_words for excess in self.broken]
        throttled = [] if self.throttling is None else str(self.throttling).splitlines()
        tables = self.to_table(), ends
        return page(f"pitch programme: {self._cost}", [*throttled, *broken], tables)

    def __repr__(self) -> str:
        against = self.against.name.lower()
        return one_line(self, f"{len(self.knots)} knots against {against}", self._cost)

    def __str__(self) -> str:
        """The knots as a table, how the arcs end, and what it costs."""
        places, pitches = zip(*self.knots, strict=True)
        table = Knots(against=self.against, abscissae=places, pitches=pitches)
        return "\n".join([*self._lines_above, str(table), *self._lines_below])

    @property
    def _lines_above(self) -> list[str]:
        lifts = [] if self.lift_off_time is None else [f"lifts off at {self.lift_off_time:.1f} s"]
        return [f"pitch programme with {len(self.knots)} knots: {self._cost}", *lifts]

    @property
    def _lines_below(self) -> list[str]:
        ends = [f"  {end.arc:30}{end.time:10.2f} s  {end.ending}" for end in self.flight.ends]
        return [
            *([] if self.throttling is None else [str(self.throttling)]),
            "arcs end at",
            *ends,
            *(excess.in_words for excess in self.broken),
            "Preliminary analysis only.",
        ]


class SimplerCurve(tuple[SimplerProgramme, ...], Tabular):
    """Programmes with more and more knots, as `simplify_curve` finds them: a tuple of them."""

    __slots__ = ()

    def to_table(self) -> Table:
        """A row for each: how many knots, against what, and what it costs."""
        columns = (
            ("knots", ""), ("against", ""), ("propellant_used", "kg"), ("penalty", "kg"),
            ("lift_off_time", "s"), ("broken_limits", ""),
        )  # fmt: skip
        rows = (
            (
                len(one.knots), one.against.name.lower(), one.propellant_used, one.penalty,
                one.lift_off_time, "; ".join(map(str, one.broken)),
            )
            for one in self
        )  # fmt: skip
        return Table.of("simplified programmes", columns, rows)

    def __repr__(self) -> str:
        told = (f"{len(one.knots)} knots {signed(one.penalty, 2)} kg" for one in self)
        return one_line(self, *told)

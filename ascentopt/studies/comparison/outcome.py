"""How one rule of thumb fared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan
from pathlib import Path
from typing import ClassVar, Self

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.flight.simulation.fly_again import as_flown, second_flight, verified_flight
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import Given, SavedResult
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.steering.programme import Programme
from ascentopt.tables import Cell, Table, Tabular, one_line

COLUMNS = (
    ("rule", ""), ("insertion", ""), ("tuned", ""), ("propellant_used", "kg"), ("penalty", "kg"),
    ("penalty_of_margin", "-"), ("gravity", "m/s"), ("drag", "m/s"), ("steering", "m/s"),
    ("back_pressure", "m/s"), ("peak_dynamic_pressure", "Pa"), ("peak_q_alpha", "Pa rad"),
    ("flight_time", "s"), ("parameters", ""), ("broken_limits", ""), ("remark", ""),
)  # fmt: skip
"""Of a comparison's table."""


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class RuleOutcome(SavedResult, Tabular):
    """What a rule of thumb costs, flown by habit or tuned.

    Args:
        rule: its name, for instance "gravity turn from a kick".
        insertion: how it enters the orbit, for instance "coast and circularise".
        tuned: whether its parameters were chosen for least propellant, or are the habit's.
        parameters: what was flown.
        flight: into the orbit, by the independent simulator; None where it does not get there.
        propellant_used: kg; None without a flight.
        penalty: kg beyond the optimum's propellant; None without a flight.
        penalty_of_margin: the same as a fraction of the optimum's margin; None likewise.
        peak_dynamic_pressure: Pa; None without a flight.
        peak_q_alpha: Pa rad, dynamic pressure times angle of attack; None without a flight.
        law: what was flown, to be flown again by `fly`; None without a flight.
        broken: limits of the mission that it exceeds.
        remark: why there is no flight, or what else should be known; may be empty.
    """

    rule: str
    insertion: str
    tuned: bool
    parameters: tuple[Parameter, ...]
    flight: Flight | None
    propellant_used: float | None
    penalty: float | None
    penalty_of_margin: float | None
    peak_dynamic_pressure: float | None
    peak_q_alpha: float | None
    law: Programme | None = None
    broken: tuple[Excess, ...] = ()
    remark: str = ""

    _form: ClassVar = "outcome of a rule"
    _version: ClassVar = 1
    _unsigned: ClassVar = 0

    @classmethod
    def load(cls, path: str | Path, *, rules: Sequence[object] = ()) -> Self:
        """Read what `save` wrote; `rules` and errors as for `Comparison.load`."""
        return cls._loaded(path, Given(rules))

    def verify(self, ascent: Ascent) -> Verification:
        """Fly its law again beside the ascent that it was compared with.

        A law with a class of one's own flies only where that was given on loading.
        """
        if self.flight is None or self.law is None or self.propellant_used is None:
            return Verification(subject=self.name, checks=(), unchecked=("it has no flight",))
        mission = as_flown(ascent.mission, self.flight.trajectory)
        try:
            again = second_flight(ascent.flown_vehicle, mission, self.law)
        except InputError as refusal:
            return Verification(subject=self.name, checks=(), unchecked=(str(refusal),))
        cost = self.propellant_used - ascent.propellant_used
        beyond = nan if self.penalty is None else self.penalty
        penalty = Check(quantity="penalty", kept=beyond, found=cost, tolerance=MEASURED, unit="kg")
        return verified_flight(self.name, self.flight, again, self.propellant_used, penalty)

    def to_table(self) -> Table:
        """One row, its columns those of `Comparison.to_table`."""
        return Table.of(self.name, COLUMNS, [self.cells])

    @property
    def cells(self) -> tuple[Cell, ...]:
        """A row for `COLUMNS`, empty where there is no flight; parameters to the last bit."""
        losses: tuple[Cell, ...] = (None,) * 4
        if self.flight is not None:
            losses = losses_of(self.flight.budget)
        return (
            self.rule, self.insertion, self.tuned, self.propellant_used, self.penalty,
            self.penalty_of_margin, *losses, self.peak_dynamic_pressure, self.peak_q_alpha,
            None if self.flight is None else self.flight.final_time,
            "; ".join(f"{one.name} = {one.value!r} {one.unit}".rstrip() for one in self.parameters),
            "; ".join(map(str, self.broken)), self.remark,
        )  # fmt: skip

    def __repr__(self) -> str:
        cost = "no orbit" if self.penalty is None else f"{self.penalty:.1f} kg on the optimum"
        return one_line(self, self.name, cost)

    @property
    def name(self) -> str:
        """Rule, insertion and whether it is tuned, in one line."""
        return f"{self.rule}, {self.insertion}, {'tuned' if self.tuned else 'by habit'}"

    @property
    def reached(self) -> bool:
        """Whether the flight ends in the orbit."""
        return self.flight is not None


def losses_of(budget: DeltaVBudget) -> tuple[Cell, ...]:
    """Gravity, drag, steering and back-pressure, m/s."""
    return budget.gravity, budget.drag, budget.steering, budget.back_pressure

"""A structure beside the answer, as the user is told of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.solved_program import SolvedProgram
from ascentopt.optimal.speeds import in_words
from ascentopt.persistence import Result
from ascentopt.tables import Table, one_line


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidate(Result):
    """A structure that was solved for, and how it came out.

    Args:
        plan: its burns and coasts.
        standing: best, beaten, short or unsolved.
        propellant_used: kg; None when it does not reach the orbit.
        at_least: whether that is a bound, found without the limits on loads, by which it is
            beaten already.
        shortfall: m/s missing at insertion; None when it is not known, 0 when it arrives.
        history: one line for each program that was solved for it.
        solved_program: its solution within the limits on loads, where it was nearly as good; from
            a neighbouring case if ``at_least``.
    """

    plan: FlightPlan
    standing: Standing
    propellant_used: float | None
    at_least: bool
    shortfall: float | None
    history: tuple[str, ...]
    solved_program: SolvedProgram | None = None

    @property
    def result(self) -> str:
        """Propellant or shortfall in words."""
        if self.propellant_used is not None:
            least = "at least " if self.at_least else ""
            return f"{least}{self.propellant_used:.2f} kg of propellant"
        if self.shortfall is not None:
            return f"short by {in_words(self.shortfall)}"
        return "not solved for" if self.standing is Standing.SKIPPED else "shortfall unknown"

    def __repr__(self) -> str:
        return one_line(self, self.plan, self.standing.name.lower(), self.result)

    def __str__(self) -> str:
        return lines_of([self])[0]


def lines_of(candidates: Sequence[Candidate]) -> list[str]:
    """A line for each, the plan told from those of the others."""
    plans = [one.plan for one in candidates]
    told = [one.plan.beside(plans) for one in candidates]
    width = max(map(len, (*told, " " * 40)))
    return [
        f"{name:{width}} {one.standing.name.lower():9} {one.result}"
        for name, one in zip(told, candidates, strict=True)
    ]


def table_of(candidates: Sequence[Candidate]) -> Table:
    """A row for each."""
    columns = (
        ("plan", ""), ("standing", ""), ("propellant_used", "kg"), ("at_least", ""),
        ("shortfall", "m/s"), ("programs_solved", ""),
    )  # fmt: skip
    plans = [one.plan for one in candidates]
    rows = (
        (
            one.plan.beside(plans), one.standing.name.lower(), one.propellant_used,
            one.at_least, one.shortfall, len(one.history),
        )
        for one in candidates
    )  # fmt: skip
    return Table.of("candidates", columns, rows)

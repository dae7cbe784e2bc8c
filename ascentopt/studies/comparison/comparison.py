"""The optimum beside the rules of thumb."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar, Self

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.results.verification import Verification
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.persistence import Given, SavedResult
from ascentopt.studies.comparison.outcome import COLUMNS, RuleOutcome, losses_of
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.units import deg, kPa


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Comparison(SavedResult, Tabular):
    """The optimal ascent and how each rule of thumb fared against it.

    Args:
        ascent: the optimum.
        outcomes: of every rule, by habit and tuned, cheapest first, those without an orbit last.
    """

    ascent: Ascent
    outcomes: tuple[RuleOutcome, ...]

    _form: ClassVar = "comparison"
    _version: ClassVar = 2
    _unsigned: ClassVar = 1

    @property
    def best_rule(self) -> RuleOutcome | None:
        """The cheapest rule that reaches the orbit; None where none does."""
        return next((one for one in self.outcomes if one.reached), None)

    def to_table(self) -> Table:
        """A row for the optimum, and one for each rule, those without an orbit last."""
        best = self.ascent
        first = (
            "optimum", "", None, best.propellant_used, 0.0, 0.0, *losses_of(best.budget),
            *_peaks(best.trajectory), best.flight_time, "", "", "",
        )  # fmt: skip
        return Table.of(self._heading, COLUMNS, [first, *(one.cells for one in self.outcomes)])

    @property
    def _heading(self) -> str:
        best = self.ascent
        return f"{best.vehicle.name} to {best.mission.orbit}: rules of thumb beside the optimum"

    def __repr__(self) -> str:
        reached = sum(one.reached for one in self.outcomes)
        count = f"{reached} of {len(self.outcomes)} rules reach the orbit"
        return one_line(self, self.ascent.vehicle.name, self.ascent.mission.orbit, count)

    @classmethod
    def load(cls, path: str | Path, *, rules: Sequence[object] = ()) -> Self:
        """Read what `save` wrote.

        Numbers, flights and events of all outcomes are there in any case. The law of a rule of
        one's own flies again only if its class, or the rule, is among `rules`: nothing is imported
        because a file names it.

        Args:
            path: of the file.
            rules: classes of one's own, or rules, for instance `[RootLean]`.

        Raises:
            InputError: for any other file.
        """
        return cls._loaded(path, Given(rules))

    def verify(self) -> Verification:
        """As `Ascent.verify`, and the law of every outcome is flown again as well."""
        found = self.ascent.verify()
        for one in self.outcomes:
            found = found.with_part(one.verify(self.ascent))
        return found

    def __str__(self) -> str:
        """A table with a line for the optimum and for each rule, and remarks below it."""
        best = self.ascent
        lines = [
            self._heading,
            _HEAD,
            _row("optimum", best.propellant_used, 0.0, 0.0, best.budget, _peaks(best.trajectory),
                 best.flight_time),
        ]  # fmt: skip
        for one in self.outcomes:
            lines += [_outcome_row(one), *_remarks(one)]
        return "\n".join([*lines, _LEGEND])


_NAME = 66  # characters: the longest rule with its insertion
_HEAD = (
    f"{'':{_NAME}}{'propellant':>11}{'penalty':>10}{'margin':>8}{'gravity':>9}{'drag':>7}{'steer':>7}"
    f"{'press.':>7}{'max q':>7}{'q alpha':>9}{'time':>8}\n"
    f"{'':{_NAME}}{'kg':>11}{'kg':>10}{'%':>8}{'m/s':>9}{'m/s':>7}{'m/s':>7}{'m/s':>7}{'kPa':>7}"
    f"{'kPa deg':>9}{'s':>8}"
)
_LEGEND = (
    "penalty: propellant beyond the optimum's; margin: that as a part of the propellant which the\n"
    "optimum leaves. Habits are common practice without a source: 3 deg at 60 m/s, 45 deg at\n"
    "10 km, level at two thirds of all burning; elsewhere than on Earth the speed goes by the\n"
    "root of that of a circle at the ground, the height by the density of the air. Preliminary\n"
    "analysis only."
)


def _row(
    name: str,
    used: float,
    penalty: float,
    share: float | None,
    budget: DeltaVBudget,
    peaks: tuple[float, float],
    time: float,
) -> str:
    part = "-" if share is None else f"{100.0 * share:.2f}"
    return (
        f"{name:{_NAME}}{used:11.1f}{penalty:10.1f}{part:>8}{budget.gravity:9.1f}{budget.drag:7.1f}"
        f"{budget.steering:7.1f}{budget.back_pressure:7.1f}{peaks[0] / kPa:7.1f}"
        f"{peaks[1] / (kPa * deg):9.1f}{time:8.1f}"
    )


def _outcome_row(one: RuleOutcome) -> str:
    if one.flight is None or one.propellant_used is None or one.penalty is None:
        return f"{one.name:{_NAME}}{'no orbit':>11}"
    peaks = one.peak_dynamic_pressure or 0.0, one.peak_q_alpha or 0.0
    numbers = one.propellant_used, one.penalty, one.penalty_of_margin
    return _row(one.name, *numbers, one.flight.budget, peaks, one.flight.final_time)


def _remarks(one: RuleOutcome) -> list[str]:
    lines = ["    with " + ", ".join(map(str, one.parameters))] if one.parameters else []
    lines += [f"    {excess.in_words}" for excess in one.broken]
    return lines + ([f"    {one.remark}"] if one.remark else [])


def _peaks(track: Trajectory) -> tuple[float, float]:
    found = np.nan_to_num(track.dynamic_pressure).max(), np.nan_to_num(track.q_alpha).max()
    return float(found[0]), float(found[1])

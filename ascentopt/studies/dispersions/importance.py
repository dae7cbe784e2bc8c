"""Which of what scatters matters most for the propellant left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.typing import Floats


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Influence(Result):
    """What one of the inputs does to the propellant left.

    Args:
        name: of the input.
        rank: Spearman's rank correlation with the propellant left.
        regression: kg for a standard deviation of it, by least squares over all inputs at once.
        variance: part of the variance of the propellant left that goes with it: its coefficient
            times its covariance with that, over the variance. They sum up to what a straight line
            explains; of correlated inputs one may be negative.
        first_order: kg for a standard deviation of it, by the partial of the optimum; nan where it
            has none.
    """

    name: str
    rank: float
    regression: float
    variance: float
    first_order: float

    def __repr__(self) -> str:
        return one_line(self, self.name, f"rank {self.rank:.3f}", f"{self.regression:.3g} kg")


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Importance(Result, Tabular):
    """All inputs, the one with the greatest rank correlation first.

    Args:
        rows: one for each.
        flights: how many they rest on; a rank correlation of nothing is off by one over the root of
            that.
        explained: part of the variance that a straight line in all inputs explains.
    """

    rows: tuple[Influence, ...]
    flights: int
    explained: float

    def __getitem__(self, name: str) -> Influence:
        """The row of an input; KeyError with the names there are."""
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(f"no input {name!r}; there are {[row.name for row in self.rows]}")

    def to_table(self) -> Table:
        """A row for each input."""
        columns = (
            ("input", ""), ("rank_correlation", "-"), ("by_regression", "kg per sigma"),
            ("part_of_variance", "-"), ("by_partials", "kg per sigma"),
        )  # fmt: skip
        rows = ((r.name, r.rank, r.regression, r.variance, r.first_order) for r in self.rows)
        return Table.of("what matters for the propellant left", columns, rows)

    def __repr__(self) -> str:
        return one_line(self, f"{len(self.rows)} inputs", f"{self.flights} flights")

    def __str__(self) -> str:
        head = f"{'':34}{'rank':>8}{'flown':>12}{'partials':>12}{'variance':>10}"
        unit = f"{'':34}{'':>8}{'kg/sigma':>12}{'kg/sigma':>12}{'%':>10}"
        lines = [head, unit]
        for one in self.rows:
            told = "-" if np.isnan(one.first_order) else f"{one.first_order:.3f}"
            lines.append(
                f"{one.name:34}{one.rank:8.3f}{one.regression:12.3f}{told:>12}"
                f"{100 * one.variance:10.1f}"
            )
        explained = f"a straight line explains {100 * self.explained:.1f} % of the variance; "
        error = f"a rank correlation is off by {1.0 / np.sqrt(self.flights):.3f} or so"
        unknown = "-: the optimum has no partial to this"
        noted = [unknown] if any(np.isnan(one.first_order) for one in self.rows) else []
        return "\n".join([*lines, explained + error, *noted])


def importance_of(
    names: Sequence[str], inputs: Floats, margins: Floats, first_order: Sequence[float]
) -> Importance:
    """Of inputs (n, m) for margins (n,) in kg; flights without one (nan) are left out.

    `first_order` has kg for a standard deviation of each, nan where it is not known. Raises
    `InputError` for less than two flights more than inputs.
    """
    flown = ~np.isnan(margins)
    x, y = inputs[flown], margins[flown]
    least = len(names) + 2
    if len(y) < least:
        raise InputError(
            f"importance: {len(y)} flights did not fall; it takes {least} or more to tell "
            f"{len(names)} inputs apart, and hundreds to tell them well. Fly more of them."
        )
    slopes, shares = _regression(x, y)
    rows = [
        Influence(name=name, rank=rank, regression=slope, variance=share, first_order=first)
        for name, rank, slope, share, first in zip(
            names, _ranks(x, y), slopes, shares, first_order, strict=True
        )
    ]
    ordered = tuple(sorted(rows, key=lambda row: -abs(row.rank)))
    return Importance(rows=ordered, flights=len(y), explained=float(sum(shares)))


def _ranks(x: Floats, y: Floats) -> list[float]:
    """Spearman's coefficient of each column; 0 where one side does not differ."""
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.stats import rankdata

    ranks = rankdata(x, axis=0)
    return [_correlation(column, rankdata(y)) for column in ranks.T]


def _correlation(one: Floats, other: Floats) -> float:
    a, b = one - one.mean(), other - other.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0.0 else 0.0


def _regression(x: Floats, y: Floats) -> tuple[list[float], list[float]]:
    """For each column kg for a standard deviation, and its part of the variance."""
    spread = x.std(axis=0)
    scaled = (x - x.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0)
    centred = y - y.mean()
    slopes = np.linalg.lstsq(scaled, centred, rcond=None)[0]
    variance = float(centred @ centred)
    shares = slopes * (scaled.T @ centred) / (variance if variance > 0.0 else 1.0)
    return [float(one) for one in slopes], [float(one) for one in shares]

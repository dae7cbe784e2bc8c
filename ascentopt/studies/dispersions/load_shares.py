"""Loads of dispersed flights beside their limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.guided.outcomes import Loads
from ascentopt.mission import FlightLimits
from ascentopt.mission.limits import SCALES
from ascentopt.numerics.order_statistics import covered_share
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.typing import Floats

SLACK = 1e-3
"""Part of a limit by which a peak may pass it and still count as kept, as of every flight."""

UNITS = {
    "dynamic_pressure": "Pa", "q_alpha": "Pa rad", "axial_acceleration": "m/s^2",
    "heating": "W/m^2",
}  # fmt: skip
"""Of the loads, by their names."""


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class LoadShare(Result):
    """A load of all flights.

    Args:
        name: of the load.
        unit: SI.
        limit: nan without one.
        median, greatest: over the flights.
        high: what the share of the flights asked for is not beyond, among the flights themselves.
        within: how many flights keep the limit.
        flights: of how many.
        shown: share of flights that keep it, with the confidence asked for; nan without a limit.
    """

    name: str
    unit: str
    limit: float
    median: float
    high: float
    greatest: float
    within: int
    flights: int
    shown: float

    def __repr__(self) -> str:
        return one_line(self, self.name, f"{self.within} of {self.flights} within the limit")

    def __str__(self) -> str:
        size, unit = SCALES.get(self.name, (1.0, self.unit))
        label = self.name.replace("_", " ")
        peaks = f"{self.median / size:.4g}, at most {self.greatest / size:.4g} {unit}"
        if np.isnan(self.limit):
            return f"{label}: median {peaks}"
        kept = f"{self.within} of {self.flights} flights keep the {self.limit / size:.4g}"
        return f"{label}: median {peaks}; {kept}, {100 * self.shown:.2f} % shown"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class LoadShares(Result, Tabular):
    """All loads.

    Args:
        rows: one for each.
        share: of the column `high`.
        confidence: of the shares that are shown (C. J. Clopper, E. S. Pearson, 1934).
    """

    rows: tuple[LoadShare, ...]
    share: float
    confidence: float

    def __getitem__(self, name: str) -> LoadShare:
        """The row of a load; KeyError with the names there are."""
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(f"no load {name!r}; there are {[row.name for row in self.rows]}")

    def to_table(self) -> Table:
        """A row for each load."""
        columns = (
            ("load", ""), ("unit", ""), ("limit", "as unit"), ("median", "as unit"),
            (f"share {self.share:g}", "as unit"), ("greatest", "as unit"), ("within", ""),
            ("flights", ""), (f"shown at confidence {self.confidence:g}", "-"),
        )  # fmt: skip
        rows = (
            (r.name, r.unit, r.limit, r.median, r.high, r.greatest, r.within, r.flights, r.shown)
            for r in self.rows
        )
        return Table.of("loads of the flights", columns, rows)

    def __repr__(self) -> str:
        return one_line(self, f"{len(self.rows)} loads")

    def __str__(self) -> str:
        return "\n".join(map(str, self.rows))


def limits_of(limits: FlightLimits, max_heating: float | None) -> dict[str, float]:
    """Of each load; nan without one."""
    given = {
        "dynamic_pressure": limits.dynamic_pressure, "q_alpha": limits.q_alpha,
        "axial_acceleration": limits.axial_acceleration, "heating": max_heating,
    }  # fmt: skip
    return {name: float("nan") if one is None else one for name, one in given.items()}


def load_shares(
    loads: Loads, limits: dict[str, float], share: float, confidence: float
) -> LoadShares:
    """Of flights with these loads beside limits; a share of them, and the confidence of others."""
    rows = tuple(_rows(loads, limits, share, confidence))
    return LoadShares(rows=rows, share=share, confidence=confidence)


def _rows(
    loads: Loads, limits: dict[str, float], share: float, confidence: float
) -> Iterator[LoadShare]:
    for name, unit in UNITS.items():
        values, limit = getattr(loads, name), limits[name]
        if name == "heating" and np.isnan(limit):
            continue
        kept = _within(values, limit)
        yield LoadShare(
            name=name,
            unit=unit,
            limit=limit,
            median=float(np.median(values)),
            high=float(np.quantile(values, share, method="higher")),
            greatest=float(values.max()),
            within=kept,
            flights=len(values),
            shown=(
                float("nan")
                if np.isnan(limit)
                else covered_share(len(values), len(values) - kept, confidence)
            ),
        )


def _within(values: Floats, limit: float) -> int:
    return len(values) if np.isnan(limit) else int(np.sum(values <= (1.0 + SLACK) * limit))

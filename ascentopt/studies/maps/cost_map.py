"""What a rule of thumb costs over a grid of two of its numbers."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from ascentopt.arguments import checked_kinds, told
from ascentopt.errors import InputError
from ascentopt.persistence import SavedResult
from ascentopt.studies.maps.axis import Axis, in_unit, shown
from ascentopt.studies.maps.map_slope import edge_note, edges_of, slope_texts
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.typing import Floats
from ascentopt.validation import finite, positive, require, within

_MOST_REASONS = 5


def least_cell(penalty: Floats) -> tuple[int, int]:
    """Row and column of the least of some numbers, not all NaN; of rows that are alike the last."""
    upside_down = int(np.nanargmin(penalty[::-1]))
    row, column = np.unravel_index(upside_down, penalty.shape)
    return len(penalty) - 1 - int(row), int(column)


@checked_kinds
@dataclass(frozen=True, eq=False, kw_only=True)
class CostMap(SavedResult, Tabular):
    """Propellant beyond the optimum's, over a grid.

    Args:
        rule: name of the rule and its insertion.
        across, upward: the two numbers.
        propellant_used: (len(upward.values), len(across.values)) kg; NaN where the rule does not
            reach the orbit.
        optimum: kg that the optimal ascent uses.
        excess: same shape; greatest ratio of a load to its limit, less one; at most 0 where all
            limits hold.
        flown: rows of the grid that are finished; None for all of them.
        reasons: same shape, of texts: why there is no orbit, empty where there is one; empty as a
            whole for a map that does not know.
        least_upward: in the unit of `upward`: rows below it are flown as that, since the vertical
            rise ends no slower.
        subject: what was flown, vehicle and mission; empty for a map that does not know.
    """

    rule: str
    across: Axis
    upward: Axis
    propellant_used: Floats
    optimum: float
    excess: Floats
    flown: tuple[int, ...] | None = None
    reasons: tuple[tuple[str, ...], ...] = ()
    least_upward: float = 0.0
    subject: str = ""

    _form: ClassVar = "cost map"
    _version: ClassVar = 3
    _unsigned: ClassVar = 2

    def __post_init__(self) -> None:
        super().__post_init__()
        shape, owner = (len(self.upward.values), len(self.across.values)), "CostMap"
        for name in ("propellant_used", "excess"):
            array = self._numbers(name)
            object.__setattr__(self, name, array)
            self._check_grid(name, array.shape, shape)
        if self.reasons:
            for whys in self.reasons:
                self._check_grid("reasons", (len(self.reasons), len(whys) or shape[1]), shape)
        positive(owner, "optimum", self.optimum, "kg", "Give what the optimal ascent uses.")
        finite(owner, "least_upward", self.least_upward, self.upward.unit, "Give 0 for none.")
        for row in self.flown or ():
            within(owner, "flown", row, "", (0, shape[0] - 1), "Name rows of the grid.")

    def _numbers(self, name: str) -> Floats:
        value = getattr(self, name)
        try:
            return np.asarray(value, dtype=np.float64)
        except (TypeError, ValueError):
            raise InputError(
                f"CostMap: {name} is {told(value)}; it must be an array of numbers. Give one for "
                "each cell."
            ) from None

    def _check_grid(self, name: str, found: tuple[int, ...], shape: tuple[int, int]) -> None:
        require(
            "CostMap", f"shape of {name}", found, "", f"{shape}, as the sides are long",
            "Give one for each cell.", holds=found == shape,
        )  # fmt: skip

    def to_table(self) -> Table:
        """A row for each cell, row by row of the grid; without an orbit why there is none."""
        own = ("propellant_used", "kg"), ("penalty", "kg"), ("excess", "-"), ("reason", "")
        taken = {name for name, _ in own}
        sides = (
            (f"{one.name} of the rule" if one.name in taken else one.name, one.unit or "-")
            for one in self.axes
        )
        grids = self.propellant_used, self.penalty, self.excess
        rows = (
            (
                self.upward.values[row], self.across.values[column],
                *(grid[row, column] for grid in grids),
                self.reasons[row][column] if self.reasons and self.reasons[row] else "",
            )
            for row, column in np.ndindex(*self.propellant_used.shape)
        )  # fmt: skip
        return Table.of(self.rule, [*sides, *own], rows)

    def _repr_html_(self) -> str:
        return page(self.subject or "cost map", str(self).splitlines())

    def __repr__(self) -> str:
        shape = f"{len(self.upward.values)} x {len(self.across.values)} cells"
        best = f"best {self.best[2]:.1f} kg" if self.best_cell is not None else "no orbit"
        return one_line(self, self.rule, shape, best)

    @property
    def axes(self) -> tuple[Axis, Axis]:
        """Upward and across: in the order of the grid's rows and columns."""
        return self.upward, self.across

    @property
    def penalty(self) -> Floats:
        """(rows, columns) kg beyond the optimum; NaN where there is no orbit."""
        return np.asarray(self.propellant_used - self.optimum)

    @property
    def best(self) -> tuple[float, float, float]:
        """Across, upward and penalty at the least penalty of the grid; NaNs where all are NaN."""
        if self.best_cell is None:
            return np.nan, np.nan, np.nan
        row, column = self.best_cell
        return (
            float(self.across.values[column]),
            float(self.upward.values[row]),
            float(self.penalty[row, column]),
        )

    @property
    def best_cell(self) -> tuple[int, int] | None:
        """Row and column of the least penalty; None where there is no orbit."""
        penalty = self.penalty
        if not np.any(np.isfinite(penalty)):
            return None
        return least_cell(penalty)

    @property
    def edges(self) -> tuple[str, ...]:
        """Names of the axes at whose end the best cell lies: the least may be beyond."""
        return () if self.best_cell is None else self.edges_at(self.best_cell)

    def edges_at(self, cell: tuple[int, int]) -> tuple[str, ...]:
        """Likewise of any cell; rows that are all flown alike end nowhere."""
        found = edges_of(self.axes, cell)
        alike = self.upward.values[cell[0]] <= self.least_upward
        return tuple(name for name in found if not (alike and name == self.upward.name))

    def __str__(self) -> str:
        """The best cell, what a step off it costs, and why others do not reach the orbit."""
        penalty, best = self.penalty, self.best_cell
        orbits = int(np.isfinite(penalty).sum())
        axes = f"{self.across.name} and {self.upward.name}"
        lines = [f"{self.rule}, over {axes}: {orbits} of {penalty.size} cells reach the orbit"]
        if best is not None:
            lines += [self._best_text(best), *slope_texts(self.axes, penalty, self.excess, best)]
        lines += [edge_note(self.edges)] if self.edges else []
        lines += [self.rise_note] if self.rise_note else []
        lines += [f"{len(self.missing)} rows are not flown yet"] if self.missing else []
        told = Counter(why for row in self.reasons for why in row if why)
        lines += [f"{count} cells: {why}" for why, count in told.most_common(_MOST_REASONS)]
        return "\n".join([*lines, "Preliminary analysis only."])

    @property
    def rise_note(self) -> str:
        """What is said of rows that are flown as others; empty where there are none."""
        if self.least_upward <= float(self.upward.values[0]):
            return ""
        least = replace(self.upward, values=np.array([self.least_upward]))
        return (
            f"{self.upward.name} below {in_unit(shown(least)[0], least)} is flown as "
            "that: the vertical rise ends no slower."
        )

    def _best_text(self, best: tuple[int, int]) -> str:
        row, column = best
        flown = replace(self.upward, values=np.maximum(self.upward.values, self.least_upward))
        x, y = shown(self.across)[column], shown(flown)[row]
        beyond = "" if self.excess[best] <= 0.0 else ", beyond a limit"
        return (
            f"best: {self.across.name} {in_unit(x, self.across)}, {self.upward.name} "
            f"{in_unit(y, self.upward)}: {self.penalty[best]:.1f} kg{beyond}"
        )

    @property
    def missing(self) -> tuple[int, ...]:
        """Rows that have not been flown yet."""
        if self.flown is None:
            return ()
        return tuple(k for k in range(len(self.upward.values)) if k not in self.flown)

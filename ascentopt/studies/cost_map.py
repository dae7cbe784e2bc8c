"""What a rule of thumb costs over a grid of two of its numbers."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

from ascentopt import persistence
from ascentopt.world.table import Floats

_VERSION = 2
_FORM = "cost map"


@dataclass(frozen=True, eq=False, kw_only=True)
class Axis:
    """One side of a map: what is varied, in which SI unit, and the values (k,)."""

    name: str
    unit: str
    values: Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class CostMap:
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
    """

    rule: str
    across: Axis
    upward: Axis
    propellant_used: Floats
    optimum: float
    excess: Floats
    flown: tuple[int, ...] | None = None
    reasons: tuple[tuple[str, ...], ...] = ()

    @property
    def penalty(self) -> Floats:
        """(rows, columns) kg beyond the optimum; NaN where there is no orbit."""
        return np.asarray(self.propellant_used - self.optimum)

    @property
    def best(self) -> tuple[float, float, float]:
        """Across, upward and penalty at the least penalty of the grid; NaNs where all are NaN."""
        penalty = self.penalty
        if not np.any(np.isfinite(penalty)):
            return np.nan, np.nan, np.nan
        row, column = np.unravel_index(int(np.nanargmin(penalty)), penalty.shape)
        return (
            float(self.across.values[column]),
            float(self.upward.values[row]),
            float(penalty[row, column]),
        )

    @property
    def missing(self) -> tuple[int, ...]:
        """Rows that have not been flown yet."""
        if self.flown is None:
            return ()
        return tuple(k for k in range(len(self.upward.values)) if k not in self.flown)

    def save(self, path: str | Path) -> None:
        """Write JSON that `load` reads, partly filled maps as well."""
        persistence.save(path, _FORM, _VERSION, self)

    @classmethod
    def load(cls, path: str | Path) -> CostMap:
        """Read what `save` wrote. Raises `InputError` for any other file."""
        data = persistence.saved(path, "CostMap", _FORM, (1, _VERSION))
        names = [one.name for one in fields(cls) if one.name in data]
        return cls(**{name: persistence.decode(data[name]) for name in names})

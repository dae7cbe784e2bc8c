"""Flights as they went, kept step by step."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ascentopt.guided.flights.fleet import Fleet, Rows
from ascentopt.guided.outcomes import Track
from ascentopt.typing import Floats


@dataclass(eq=False)
class Tracking:
    """Grows with every step."""

    count: int
    rows: list[list[Floats]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rows = [[] for _ in range(self.count)]

    def add(self, fleet: Fleet, rows: Rows) -> None:
        """Where some flights are now."""
        for n in rows.tolist():
            here = fleet.time[n : n + 1], fleet.state[n, :7], fleet.reading[n, :1]
            self.rows[n].append(np.concatenate(here))

    @property
    def track(self) -> Track:
        """All of them, filled up with nan."""
        longest = max((len(one) for one in self.rows), default=0)
        table = np.full((longest, self.count, 9), np.nan)
        for n, one in enumerate(self.rows):
            table[: len(one), n] = np.array(one).reshape(-1, 9)
        return Track(time=table[..., 0], states=table[..., 1:8], altitude=table[..., 8])

"""The loads of a compiled flight, kept step by step and worked out when somebody asks for them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil
from typing import NamedTuple

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.table_pieces import Cubic
from ascentopt.typing import Floats

_APART = 1.0  # s, the longest between two rows


class Readings(NamedTuple):
    """What a step tells of its two ends.

    Attributes:
        begin, end: at each the values, then their slopes; what comes before `first` is not of them.
        first: where they begin.
        length: s.
        loads: how many of the first values are loads.
    """

    begin: list[float]
    end: list[float]
    first: tuple[int, int]
    length: float
    loads: int

    def cubic(self, k: int) -> Cubic:
        """The curve of the value with this index."""
        (i, j), begin, end = self.first, self.begin, self.end
        count = (len(begin) - i) // 2
        return Cubic(
            begin[i + k], begin[i + k + count], end[j + k], end[j + k + count], self.length
        )


class Place(NamedTuple):
    """Where a phase of the law began on an arc: a flight may go on from there.

    Attributes:
        mark: where the arc began.
        now: where the phase did.
    """

    mark: Checkpoint
    now: Checkpoint


@dataclass(eq=False)
class LoadLog:
    """Steps of a flight with the readings at their ends: most flights are never asked for more.

    Attributes:
        steps: when each began and how long it was, s, and what gives the curves of the loads.
        places: where phases and arcs began.
    """

    steps: list[tuple[float, float, Readings]] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)

    def until(self, time: float) -> LoadLog:
        """One with what began before some s since lift-off, to be gone on with."""
        return LoadLog(
            [step for step in self.steps if step[0] < time],
            [place for place in self.places if place.now.time < time],
        )

    def rows(self) -> Floats:
        """(n, 1 + loads) time in s and loads, in the order of `step_function.LOADS`.

        At the ends of steps, no more than a second apart, and where a load is greatest on a step.
        """
        return np.array([row for step in self.steps for row in _rows(*step)])


def _rows(time: float, length: float, readings: Readings) -> Iterator[tuple[float, ...]]:
    curves = [readings.cubic(k) for k in range(readings.loads)]
    count = ceil(length / _APART)
    ends = [k * length / count for k in range(count + 1)]
    peaks = [curve.turning() for curve in curves if curve.slope > 0.0 > curve.end_slope]
    for into in sorted([*ends, *peaks]):
        yield (time + into, *(curve(into) for curve in curves))

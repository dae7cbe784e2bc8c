"""A sweep's schedule played on many workers, with measured seconds of answers; nothing is solved.

The schedule is the sweep's own. A worker takes what has waited longest; sending a point out and
taking its answer costs the one process that hands them out so many seconds, one after another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import product
from random import Random

import numpy as np

from ascentopt.studies.sweep.points.neighbours import Neighbourhood, linked
from ascentopt.studies.sweep.schedule import Schedule, Solve

HANDLED = 0.005
"""s to send a point out and to take and write its answer: 4 ms of the processor were measured, with
a store and one process that solves. Hundreds of connections cost more, which is not in it."""

SIDES: tuple[tuple[int, ...], ...] = ((10, 5), (20, 10), (40, 25), (10, 10, 10), (100, 100))
WORKERS = (1, 2, 8, 32, 128, 512)


@dataclass(frozen=True)
class Seconds:
    """Measured seconds of answers from nothing and from neighbours; a solve draws one of them."""

    cold: tuple[float, ...]
    warm: tuple[float, ...]


@dataclass(frozen=True)
class Flies:
    """An answer of one structure everywhere: bounds are not played."""

    structure: str = "one"
    compared: tuple[str, ...] = ()
    settled: bool = False

    def beats(self, other: object) -> bool:
        """No."""
        return False


def on_grid(sides: Sequence[int]) -> Neighbourhood:
    """Neighbours on a grid, its sides as long as each other."""
    steps = [1000 // max(side - 1, 1) for side in sides]
    points = [[k * s for k, s in zip(p, steps, strict=True)] for p in product(*map(range, sides))]
    return linked(range(len(points)), np.array(points), [()] * len(points))


def seconds_on(
    neighbours: Neighbourhood, workers: int, seconds: Seconds, handled: float = HANDLED
) -> float:
    """Seconds from the first solve to the last answer."""
    schedule: Schedule[Flies] = Schedule(neighbours)
    random = Random(len(neighbours.parents))
    waiting = [(solve, random.choice(seconds.cold)) for solve in schedule.begin()]
    busy: list[tuple[float, int, Solve]] = []
    now = hand = 0.0
    while waiting or busy:
        while waiting and len(busy) < workers:
            solve, takes = waiting.pop(0)
            hand = max(hand, now) + 0.5 * handled
            heappush(busy, (hand + takes, solve.point, solve))
        now, _, solve = heappop(busy)
        hand = max(hand, now) + 0.5 * handled
        waiting += [(one, random.choice(seconds.warm)) for one in schedule.take(solve, Flies())]
    return max(now, hand)


def table(seconds: Seconds) -> str:
    """For each grid and number of workers: seconds, and how many times faster than with one."""
    cold, warm = (float(np.median(one)) for one in (seconds.cold, seconds.warm))
    head = f"New answers take {cold:.2f} s, neighbours {warm:.2f} s (medians).\n\n"
    columns = " | ".join(f"{count} workers" for count in WORKERS)
    lines = [f"| points | {columns} |", "|---|" + "---:|" * len(WORKERS)]
    for sides in SIDES:
        neighbours = on_grid(sides)
        taken = [seconds_on(neighbours, count, seconds) for count in WORKERS]
        cells = " | ".join(f"{one:.0f} s, {taken[0] / one:.1f} x" for one in taken)
        lines.append(f"| {' x '.join(map(str, sides))} | {cells} |")
    return head + "\n".join(lines)

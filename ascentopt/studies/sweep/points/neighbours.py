"""Which points of a sweep are neighbours, and in which order each is solved from which of them.

All of it follows from the points alone, in whole numbers: whoever solves them, in whatever order
they are finished, each is begun from the same neighbour.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Any

import numpy as np

from ascentopt.baselines.inputs import Input, inputs_of, is_number, is_same
from ascentopt.optimal.perturbations import Case

DEEPEST = 12
"""Steps from a point that is solved from nothing to the last that hangs on it. However many workers
there are they wait for so many neighbours in turn, in the time of three or four new answers; a new
answer more for each part, which holds some 150 points of two numbers, is a fiftieth of its time."""

_GRAIN = 10**6
"""Parts that a number's range over a sweep is told in: what differs by less is the same place."""


@dataclass(frozen=True, eq=False)
class Neighbourhood:
    """Points with what lies next to them.

    Attributes:
        next_to: of each point its neighbours, the nearest first.
        parents: of each point the one that it is solved from at first; None for those that are
            solved from nothing.
    """

    next_to: Mapping[int, tuple[int, ...]]
    parents: Mapping[int, int | None]


def neighbourhood(cases: Mapping[int, Case]) -> Neighbourhood:
    """Of vehicles on missions, by the numbers of their points, that differ in some inputs.

    Numbers count as shares of their ranges, and distances are sums of their differences. What
    differs in anything but numbers (another orbit's shape, a limit more, another booster)
    are no neighbours: each such kind begins with a point of its own, solved from nothing.
    """
    inputs = [inputs_of(case.vehicle, case.mission) for case in cases.values()]
    return linked(tuple(cases), *_places(inputs))


def linked(
    points: Sequence[int], places: np.ndarray, kinds: Sequence[Hashable]
) -> Neighbourhood:
    """Of points by their numbers, at places (points, k) in whole numbers, each of some kind."""
    next_to: dict[int, tuple[int, ...]] = {}
    parents: dict[int, int | None] = {}
    for kind in dict.fromkeys(kinds):
        own = [k for k, other in enumerate(kinds) if other == kind]
        near = _both_ways(places[own])
        for k, one in enumerate(own):
            next_to[points[one]] = tuple(points[own[other]] for other in near[k])
        for part in _parts(places, np.array(own)):
            for one, parent in part.items():
                parents[points[one]] = None if parent is None else points[parent]
    return Neighbourhood(next_to=next_to, parents=parents)


def _places(inputs: Sequence[dict[str, Input]]) -> tuple[np.ndarray, list[tuple[Any, ...]]]:
    """(points, numbers) in whole parts of their ranges, and what each point has besides numbers."""
    columns, kinds = [], []
    names = dict.fromkeys(name for one in inputs for name in one if not name.endswith(".name"))
    for name in names:
        values = [one.get(name) for one in inputs]
        if all(is_same(value, values[0]) for value in values):
            continue
        rows = [_numbers(value) for value in values]
        if all(row is not None and len(row) == len(rows[0] or ()) for row in rows):
            columns += _columns(np.array(rows, dtype=np.float64))
        else:
            kinds.append(values)
    whole = np.array(columns, dtype=np.int64).T if columns else np.zeros((len(inputs), 1), np.int64)
    return whole, [tuple(row) for row in zip(*kinds, strict=True)] or [()] * len(inputs)


def _numbers(value: Input | None) -> tuple[float, ...] | None:
    if isinstance(value, tuple):
        return value
    return (value,) if is_number(value) else None


def _columns(values: np.ndarray) -> list[np.ndarray]:
    """Of one input, numbers (points, k): a curve with many counts as much as one number."""
    low, span = values.min(axis=0), np.ptp(values, axis=0)
    shares = (values - low) / np.where(span > 0.0, span, 1.0) / values.shape[1]
    return [np.rint(_GRAIN * column).astype(np.int64) for column in shares.T]


def _from(places: np.ndarray, point: int) -> np.ndarray:
    """(points,) distances from one of them."""
    found: np.ndarray = np.abs(places - places[point]).sum(axis=1)
    return found


def _neighbours(places: np.ndarray, point: int) -> set[int]:
    """The points to which no other neighbour is nearer than this one is.

    The nearest is one; what is nearer to it than to the point is left out; of the rest the nearest
    is the next. On a grid they are those a step away along each side. From every point a way along
    neighbours leads to every other: each step comes nearer.
    """
    away = _from(places, point)
    left = np.ones(len(places), dtype=bool)
    left[point] = False
    found: set[int] = set()
    while left.any():
        rest = np.flatnonzero(left)
        nearest = int(rest[np.argmin(away[rest])])
        found.add(nearest)
        left &= _from(places, nearest) >= away
        left[nearest] = False
    return found


def _both_ways(places: np.ndarray) -> list[list[int]]:
    """The neighbours of each point, and those whose neighbour it is, the nearest first."""
    found: list[set[int]] = [set() for _ in places]
    for point in range(len(places)):
        for other in _neighbours(places, point):
            found[point].add(other)
            found[other].add(point)
    return [_nearest_first(places, point, others) for point, others in enumerate(found)]


def _nearest_first(places: np.ndarray, point: int, others: set[int]) -> list[int]:
    away = _from(places, point)
    return sorted(others, key=lambda one: (int(away[one]), one))


def _parts(places: np.ndarray, own: np.ndarray) -> Iterator[dict[int, int | None]]:
    """The parent of each point, in parts that are halved until none is deeper than `DEEPEST`."""
    parents, depth = _tree(places[own], _both_ways(places[own]))
    if depth <= DEEPEST:
        numbers = own.tolist()
        yield {numbers[k]: None if one is None else numbers[one] for k, one in enumerate(parents)}
        return
    lower = _lower_half(places[own])
    yield from _parts(places, own[lower])
    yield from _parts(places, own[~lower])


def _lower_half(places: np.ndarray) -> np.ndarray:
    """(points,) whether a point is in it: along the longest side, then the one of most values."""
    values = [np.unique(column) for column in places.T]
    longest = max(values, key=lambda one: (int(np.ptp(one)), len(one)))
    side = next(k for k, one in enumerate(values) if one is longest)
    found: np.ndarray = places[:, side] <= longest[(len(longest) - 1) // 2]
    return found


def _tree(
    places: np.ndarray, near: Sequence[Sequence[int]]
) -> tuple[list[int | None], int]:
    """Of each point the neighbour on the shortest way to the one in the middle; the most steps.

    Of ways of one length the one with the fewest steps, then with the shortest last step.
    """
    middle = np.abs(2 * places - places.min(axis=0) - places.max(axis=0)).sum(axis=1)
    root = int(np.argmin(middle))
    parents: list[int | None] = [None] * len(places)
    settled: set[int] = set()
    deepest = 0
    waiting: list[tuple[int, int, int, int, int]] = [(0, 0, 0, -1, root)]
    while waiting:
        length, steps, _, parent, point = heappop(waiting)
        if point in settled:
            continue
        settled.add(point)
        deepest = max(deepest, steps)
        parents[point] = None if parent < 0 else parent
        away = _from(places, point)
        for other in near[point]:
            step = int(away[other])
            heappush(waiting, (length + step, steps + 1, step, point, other))
    return parents, deepest

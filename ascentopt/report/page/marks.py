"""Which events a figure marks, and what it calls them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from ascentopt.flight.results.events import Event
from ascentopt.report.flown import Flown
from ascentopt.report.page.palette import GROUND, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

T = TypeVar("T")

TOGETHER = 0.03
"""Marks nearer than this fraction of an axis share a label."""

_CLOSE = 0.06
"""Marks nearer than this share of an axis of time stand under one number."""


@dataclass(frozen=True)
class Mark:
    """Events so close that they are marked as one; the first is where the mark stands."""

    events: tuple[Event, ...]

    @property
    def place(self) -> Event:
        """Where the mark stands."""
        return self.events[0]

    @property
    def text(self) -> str:
        """The events' names and times, a line each."""
        return "\n".join(f"{event.name}, {event.time:.1f} s" for event in self.events)


def marked(flown: Flown, start: float, end: float) -> tuple[Event, ...]:
    """The events in (start, end], but for the lift-off."""
    return tuple(e for e in flown.events if start < e.time <= end and e.time > 0.0)


def gathered(events: Iterable[Event], width: float, height: float) -> Iterator[Mark]:
    """Events on a plot that spans `width` m of downrange and `height` m of altitude, in marks."""
    def near(one: Event, other: Event) -> bool:
        across = abs(other.downrange - one.downrange) / width
        upward = abs(other.altitude - one.altitude) / height
        return max(across, upward) < TOGETHER

    return (Mark(tuple(group)) for group in grouped(events, near))


def grouped(items: Iterable[T], near: Callable[[T, T], bool]) -> list[list[T]]:
    """Items one after the other, each near the first of its group."""
    groups: list[list[T]] = []
    for item in items:
        if groups and near(groups[-1][0], item):
            groups[-1].append(item)
        else:
            groups.append([item])
    return groups


def grouped_dots(
    axes: Axes, places: Sequence[tuple[float, float]], pixels: float
) -> list[list[int]]:
    """Indices of dots in the coordinates of the axes, those within so many pixels in a group."""
    spots = axes.transData.transform(np.reshape(places, (-1, 2)))
    return grouped(range(len(spots)), lambda k, j: bool(np.hypot(*(spots[j] - spots[k])) < pixels))


class Numbered(NamedTuple):
    """Events close together on an axis of time, and the number of the first of them."""

    first: int
    events: tuple[Event, ...]

    @property
    def text(self) -> str:
        """Its number, or the first and the last."""
        last = self.first + len(self.events) - 1
        return str(self.first) if last == self.first else f"{self.first}-{last}"

    @property
    def pairs(self) -> Iterator[tuple[int, Event]]:
        """Numbers and events."""
        return iter(enumerate(self.events, start=self.first))


def numbered(flown: Flown, end: float, place: Callable[[float], float]) -> list[Numbered]:
    """The events up to a time in s; `place` tells where a time lies on its axis, from 0 to 1."""
    groups = grouped(
        enumerate(marked(flown, 0.0, end), start=1),
        lambda one, other: place(other[1].time) - place(one[1].time) < _CLOSE,
    )
    return [Numbered(group[0][0], tuple(event for _, event in group)) for group in groups]


def draw_marks(axes: Axes, marks: Sequence[Numbered]) -> None:
    """A line across for each event."""
    for event in (event for mark in marks for event in mark.events):
        axes.axvline(event.time, color=SOFT, lw=0.6, alpha=0.7, zorder=0.5)


def draw_numbers(axes: Axes, marks: Sequence[Numbered]) -> None:
    """The numbers of the events over a panel."""
    for mark in marks:
        axes.text(mark.events[0].time, 1.015, mark.text, ha="center", va="bottom", fontsize=8,
                  color=GROUND, transform=axes.get_xaxis_transform())  # fmt: skip

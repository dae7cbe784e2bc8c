"""Which events a figure marks, and what it calls them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from ascentopt.flight.results.events import Event
from ascentopt.report.flown import Flown
from ascentopt.report.page.palette import GROUND, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

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
    kept: list[Event] = []
    for event in events:
        if kept and not _near(kept[0], event, width, height):
            yield Mark(tuple(kept))
            kept = []
        kept.append(event)
    if kept:
        yield Mark(tuple(kept))


def _near(one: Event, other: Event, width: float, height: float) -> bool:
    across = abs(other.downrange - one.downrange) / width
    upward = abs(other.altitude - one.altitude) / height
    return max(across, upward) < TOGETHER


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
    found: list[Numbered] = []
    for number, event in enumerate(marked(flown, 0.0, end), start=1):
        if found and place(event.time) - place(found[-1].events[0].time) < _CLOSE:
            found[-1] = Numbered(found[-1].first, (*found[-1].events, event))
        else:
            found.append(Numbered(number, (event,)))
    return found


def draw_marks(axes: Axes, marks: Sequence[Numbered]) -> None:
    """A line across for each event."""
    for event in (event for mark in marks for event in mark.events):
        axes.axvline(event.time, color=SOFT, lw=0.6, alpha=0.7, zorder=0.5)


def draw_numbers(axes: Axes, marks: Sequence[Numbered]) -> None:
    """The numbers of the events over a panel."""
    for mark in marks:
        axes.text(mark.events[0].time, 1.015, mark.text, ha="center", va="bottom", fontsize=8,
                  color=GROUND, transform=axes.get_xaxis_transform())  # fmt: skip

"""Which events a figure marks, and what it calls them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ascentopt.flight.results.events import Event
from ascentopt.report.flown import Flown

TOGETHER = 0.03
"""Marks nearer than this fraction of an axis share a label."""


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

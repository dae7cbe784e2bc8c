"""What happens when: lift-off, every joint, the greatest dynamic pressure, the insertion."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import astuple, dataclass, replace
from itertools import pairwise

from ascentopt.errors import InputError
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.units import in_places, km, kPa

_HEAD = (
    ("event", 34, "<"),
    ("time", 9, ">"),
    ("altitude", 10, ">"),
    ("speed", 9, ">"),
    ("downrange", 11, ">"),
    ("q", 8, ">"),
    ("mass before", 13, ">"),
    ("mass after", 12, ">"),
)
_UNITS = ("", "s", "km", "m/s", "km", "kPa", "kg", "kg")
_COLUMNS = (
    ("event", ""), ("time", "s"), ("altitude", "m"), ("speed", "m/s"), ("downrange", "m"),
    ("dynamic_pressure", "Pa"), ("mass_before", "kg"), ("mass_after", "kg"),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Event(Result):
    """One row: time s, altitude m, inertial speed m/s, downrange m, dynamic pressure Pa, masses kg.

    The two masses differ where something is dropped.
    """

    name: str
    time: float
    altitude: float
    speed: float
    downrange: float
    dynamic_pressure: float
    mass_before: float
    mass_after: float

    @classmethod
    def read(cls, name: str, point: Readings, mass_after: float | None = None) -> Event:
        """Take the numbers from the readings at one point."""
        mass = float(point.mass)
        return cls(
            name=name,
            time=float(point.time),
            altitude=float(point.altitude),
            speed=float(point.speed),
            downrange=float(point.downrange),
            dynamic_pressure=float(point.dynamic_pressure),
            mass_before=mass,
            mass_after=mass if mass_after is None else mass_after,
        )

    def __repr__(self) -> str:
        place = f"{self.time:.2f} s, {self.altitude / km:.3f} km, {self.speed:.1f} m/s"
        return one_line(self, repr(self.name), place, f"{self.mass_after:.1f} kg")

    def __str__(self) -> str:
        numbers = (
            f"{self.time:.2f}",
            in_places(self.altitude / km, 3),
            f"{self.speed:.1f}",
            f"{self.downrange / km:.2f}",
            f"{self.dynamic_pressure / kPa:.3f}",
            f"{self.mass_before:.1f}",
            f"{self.mass_after:.1f}",
        )
        return _line((self.name, *numbers))


@dataclass(frozen=True, kw_only=True, eq=False)
class EventTable(Result, Tabular):
    """Events in the order of time."""

    rows: tuple[Event, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        for before, after in pairwise(self.rows):
            if not after.time >= before.time:
                raise InputError(
                    f"EventTable: {after.name!r} is at {after.time!r} s, after {before.name!r} at "
                    f"{before.time!r} s; times must not decrease. Give the rows in the order of "
                    "time."
                )

    def __iter__(self) -> Iterator[Event]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, name: str) -> Event:
        """The first event of this name; KeyError with the names there are."""
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(f"no event {name!r}; there are {[row.name for row in self.rows]}")

    def to_table(self) -> Table:
        """A row for each event, its numbers as in `Event`."""
        return Table.of("events", _COLUMNS, map(astuple, self.rows))

    def __repr__(self) -> str:
        return one_line(self, f"{len(self)} events", ", ".join(row.name for row in self.rows))

    def __str__(self) -> str:
        heads = _line(tuple(name for name, _, _ in _HEAD))
        return "\n".join([heads, _line(_UNITS), *(str(row) for row in self.rows)])


def events_of(sequence: Sequence, trajectory: Trajectory, *, start: str = "lift-off") -> EventTable:
    """The events of a trajectory whose arcs are those of the sequence, or its first ones.

    `start` names the first row.
    """
    rows = [Event.read(start, _end(trajectory, 0, first=True))]
    for index, arc in enumerate(sequence.arcs[: len(trajectory.arcs)]):
        point = _end(trajectory, index, first=False)
        after = arc.joint.mass(float(point.mass))
        rows.append(Event.read(arc.joint.event, point, after))
        if arc.joint.also is not None:
            rows.append(replace(rows[-1], name=arc.joint.also, mass_before=after))
    peak = trajectory.peak(Trajectory.dynamic_pressure)
    if peak.value > 0.0:
        row = Event.read("max dynamic pressure", peak.readings)
        place = next((k for k, other in enumerate(rows) if other.time > row.time), len(rows))
        rows.insert(place, row)
    return EventTable(rows=tuple(rows))


def _end(trajectory: Trajectory, index: int, *, first: bool) -> Readings:
    arc = trajectory.arcs[index]
    return Readings.of(arc.readings[0 if first else -1])


def _line(cells: tuple[str, ...]) -> str:
    pairs = zip(cells, _HEAD, strict=True)
    return "".join(f"{cell:{side}{width}}" for cell, (_, width, side) in pairs).rstrip()

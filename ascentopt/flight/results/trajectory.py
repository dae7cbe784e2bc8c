"""What was flown, as numbers against time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.arguments import told
from ascentopt.errors import InputError
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.results.telemetry import COLUMNS, Column, Readings, read
from ascentopt.persistence import Result, told_as_damage
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.typing import Floats

_FORM = 1
"""Of the dictionary that a trajectory is written as."""


@dataclass(frozen=True, eq=False, kw_only=True)
class TrajectoryArc(Result):
    """One arc, sampled.

    Args:
        name: of the arc.
        times: (k,) s, never decreasing; a time given twice is a jump of the command, or a corner.
        states: (k, 7) inertial position and velocity, and mass.
        directions: (k, 3) thrust direction, inertial; zeros while nothing burns.
        throttle: (k,) fraction of full thrust of the core.
        readings: (k, n) what `Readings` hold.
    """

    name: str
    times: Floats
    states: Floats
    directions: Floats
    throttle: Floats
    readings: Floats

    def __post_init__(self) -> None:
        for name in _ARRAYS:
            object.__setattr__(self, name, _fixed(self, name))
        super().__post_init__()
        count = len(self.times) if self.times.ndim else 0
        shapes = {
            "times": (count,),
            "states": (count, 7),
            "directions": (count, 3),
            "throttle": (count,),
            "readings": (count, len(COLUMNS)),
        }
        for name, shape in shapes.items():
            array = getattr(self, name)
            if array.shape != shape or count == 0:
                raise InputError(
                    f"TrajectoryArc {self.name!r}: {name} has the shape {array.shape}; it must be "
                    f"{shape} with at least one row. Give one row for each time."
                )
        self._check_order()

    def _check_order(self) -> None:
        owner, wrong = f"TrajectoryArc {self.name!r}", ~(np.diff(self.times) >= 0.0)
        if wrong.any() or not np.isfinite(self.times[0]):
            row = int(np.argmax(wrong)) + 1 if wrong.any() else 0
            raise InputError(
                f"{owner}: times[{row}] is {float(self.times[row])!r} s; it must be a finite "
                "number, no less than the one before it. Sort the samples by time."
            )
        for name in ("states", "directions", "throttle"):
            if not np.isfinite(getattr(self, name)).all():
                raise InputError(
                    f"{owner}: {name} holds what is no finite number; it must not. Give numbers."
                )

    @classmethod
    def sampled(
        cls, arc: FlightArc, site: Sequence[float], samples: Floats, *, start: float | None = None
    ) -> TrajectoryArc:
        """Read an arc off its samples (k, 12): time, state (7), thrust direction (3), throttle.

        `site` (3) is where the site stood at time zero, m; `start` when the arc began, by default
        at the first sample.
        """
        began = float(samples[0, 0]) if start is None else start
        return cls(
            name=arc.name,
            times=samples[:, 0],
            states=samples[:, 1:8],
            directions=samples[:, 8:11],
            throttle=samples[:, 11],
            readings=read(arc.kind, arc.numbers, site, began, samples),
        )

    def __repr__(self) -> str:
        first, last = float(self.times[0]), float(self.times[-1])
        samples = f"{len(self.times)} samples"
        return one_line(self, repr(self.name), samples, f"{first:.2f} to {last:.2f} s")

    @property
    def turn_rates(self) -> Floats:
        """(k - 1,) rad/s at which the thrust turns between samples, inertial; inf in a jump."""
        turned = np.linalg.norm(np.diff(self.directions, axis=0), axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(turned > _NO_TURN, turned / np.diff(self.times), 0.0)


_NO_TURN = 1e-6
"""rad between two samples that are no turn: rounding, where two samples share an instant."""

_HEADING = COLUMNS.index(Readings.heading)
_ARRAYS = ("times", "states", "directions", "throttle", "readings")


def _fixed(arc: TrajectoryArc, name: str) -> Floats:
    """A copy of its own that nobody changes."""
    try:
        array = np.array(getattr(arc, name), dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(
            f"TrajectoryArc {arc.name!r}: {name} is {told(getattr(arc, name))}; it must be an "
            "array of numbers. Give one row for each time."
        ) from None
    array.flags.writeable = False
    return array


class Peak(NamedTuple):
    """The greatest `value` of a quantity, and the `readings` at the instant when it is reached."""

    value: float
    readings: Readings


@dataclass(frozen=True, kw_only=True, eq=False)
class Trajectory(Result, Readings, Tabular):
    """A flight, arc by arc; its columns run through all arcs.

    The instant of a joint appears twice, before and after what happens there.

    Args:
        arcs: in order.
    """

    arcs: tuple[TrajectoryArc, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.arcs:
            raise InputError("Trajectory: arcs is empty; it must hold an arc. Give at least one.")
        for before, after in pairwise(self.arcs):
            if after.times[0] < before.times[-1]:
                raise InputError(
                    f"Trajectory: arc {after.name!r} begins at {float(after.times[0])!r} s, and "
                    f"the one before it ends at {float(before.times[-1])!r} s; times must not "
                    "decrease. Give the arcs in the order of time."
                )

    @cached_property
    def table(self) -> Floats:
        """(k, n) all readings."""
        return np.concatenate([arc.readings for arc in self.arcs])

    @cached_property
    def states(self) -> Floats:
        """(k, 7) inertial position and velocity, and mass."""
        return np.concatenate([arc.states for arc in self.arcs])

    @cached_property
    def directions(self) -> Floats:
        """(k, 3) thrust direction, inertial; zeros while nothing burns."""
        return np.concatenate([arc.directions for arc in self.arcs])

    def to_table(self) -> Table:
        """A row for each sample: its arc, the readings, and the state and direction, inertial."""
        vectors = (("position", "m"), ("velocity", "m/s"), ("direction", "-"))
        inertial = [(f"{name}_{axis}", unit) for name, unit in vectors for axis in "xyz"]
        read = [(column.name, column.unit or "-") for column in COLUMNS]
        rows = (
            (arc.name, *numbers)
            for arc in self.arcs
            for numbers in np.hstack([arc.readings, arc.states[:, :6], arc.directions]).tolist()
        )
        return Table.of("trajectory", [("arc", ""), *read, *inertial], rows)

    def __repr__(self) -> str:
        first, last = float(self.arcs[0].times[0]), float(self.arcs[-1].times[-1])
        count = f"{len(self.arcs)} arcs, {len(self.states)} samples"
        return one_line(self, count, f"{first:.2f} to {last:.2f} s")

    @property
    def final_state(self) -> Floats:
        """(7,) the last state."""
        final: Floats = self.arcs[-1].states[-1]
        return final

    @property
    def duration(self) -> float:
        """Seconds from the first to the last sample."""
        return float(self.arcs[-1].times[-1] - self.arcs[0].times[0])

    @staticmethod
    def columns() -> tuple[Column, ...]:
        """The quantities with their names, units and meanings."""
        return COLUMNS

    def at(self, time: ArrayLike) -> Readings:
        """Readings at one time (columns are then numbers) or at several, by cubic splines.

        At a joint those after it are given.

        Raises:
            InputError: for a time outside the flight.
        """
        asked = np.atleast_1d(np.asarray(time, dtype=float))
        first, last = float(self.arcs[0].times[0]), float(self.arcs[-1].times[-1])
        outside = asked[(asked < first) | (asked > last)]
        if len(outside):
            raise InputError(
                f"Trajectory.at: time is {float(outside[0])!r} s; it must be between {first!r} and "
                f"{last!r} s, the ends of the flight. Ask within them."
            )
        pieces = list(self._pieces())
        starts = np.array([piece[0][0] for piece in pieces])
        table = np.empty((len(asked), len(COLUMNS)))
        places = np.maximum(np.searchsorted(starts, asked, side="right") - 1, 0)
        for index in np.unique(places):
            here = places == index
            times, readings = pieces[index]
            table[here] = _between(times, readings, asked[here])
        return Readings.of(table if np.ndim(time) else table[0])

    def peak(self, column: Column) -> Peak:
        """The greatest value of a column, for instance `Trajectory.dynamic_pressure`.

        Found between the samples too, on the splines of `at`.

        Raises:
            InputError: when the column has no value anywhere.
        """
        values = column.__get__(self, Trajectory)
        if np.all(np.isnan(values)):
            raise InputError(
                f"Trajectory.peak: {column.name} has no value anywhere on this flight. Ask for "
                "another column."
            )
        best = self.table[np.nanargmax(values)]
        which = COLUMNS.index(column)
        for times, table in self._pieces():
            found = _higher(times, table[:, which], float(best[which]))
            for row in _between(times, table, found) if len(found) else ():
                best = row if row[which] > best[which] else best
        return Peak(float(best[which]), Readings.of(best))

    def _pieces(self) -> Iterator[tuple[Floats, Floats]]:
        """Times and readings of stretches without a jump and with more than one sample."""
        for arc in self.arcs:
            cuts = np.flatnonzero(np.diff(arc.times) <= 0.0) + 1
            for rows in np.split(np.arange(len(arc.times)), cuts):
                if len(rows) > 1 or len(arc.times) == 1:
                    yield arc.times[rows], arc.readings[rows]

    def to_dict(self) -> dict[str, Any]:
        """Lists and numbers only; floats survive the way through JSON to the last bit."""
        return {
            "form": _FORM,
            "columns": [[column.name, column.unit] for column in COLUMNS],
            "arcs": [
                {"name": arc.name, **{name: _listed(getattr(arc, name)) for name in _ARRAYS}}
                for arc in self.arcs
            ],
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Trajectory:
        """The trajectory that `to_dict` wrote.

        Raises:
            InputError: for a dictionary of another form.
        """
        names = [[column.name, column.unit] for column in COLUMNS]
        if data.get("form") != _FORM or data.get("columns") != names:
            raise InputError(
                f"Trajectory.from_dict: form is {data.get('form')!r} with columns "
                f"{data.get('columns')!r}; this version reads form {_FORM} with {names}. Write "
                "the trajectory again."
            )
        with told_as_damage("Trajectory.from_dict: the dictionary"):
            return cls(
                arcs=tuple(
                    TrajectoryArc(
                        name=arc["name"],
                        **{name: _array(arc[name]) for name in _ARRAYS},
                    )
                    for arc in data["arcs"]
                )
            )


def _listed(array: Floats) -> Any:
    """Nested lists with None for nan, which JSON has no word for."""
    plain = array.astype(object)
    plain[np.isnan(array)] = None
    return plain.tolist()


def _array(values: Any) -> Floats:
    return np.array(values, dtype=np.float64)  # None becomes nan


def _between(times: Floats, table: Floats, asked: Floats) -> Floats:
    """(m, n) readings at the times asked for, within one piece."""
    from scipy.interpolate import CubicSpline

    if len(times) == 1:
        return np.repeat(table, len(asked), axis=0)
    sound = ~np.isnan(table).any(axis=0)
    table = table.copy()
    table[:, _HEADING] = np.unwrap(table[:, _HEADING])  # so that north is no jump
    result = np.full((len(asked), table.shape[1]), np.nan)
    result[:, sound] = CubicSpline(times, table[:, sound])(asked)
    result[:, _HEADING] %= 2.0 * np.pi
    return result


def _higher(times: Floats, values: Floats, than: float) -> Floats:
    """Times at which the spline through the values is level, and higher than a value."""
    from scipy.interpolate import CubicSpline

    if len(times) < 3 or np.isnan(values).any():
        return np.empty(0)
    spline = CubicSpline(times, values)
    level = spline.derivative().roots(extrapolate=False)
    level = level[np.isfinite(level)]
    found: Floats = level[spline(level) > than]
    return found

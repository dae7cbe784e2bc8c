"""Steering by a table against the clock: what an optimum is exported as."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from math import hypot, sin
from pathlib import Path
from typing import Any

import numpy as np

from ascentopt import persistence
from ascentopt.arguments import checked, told
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.local_frame import SPIN, Axis
from ascentopt.flight.guidance.ending import AfterDuration, AfterDurationOrEmpty, Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw, WrittenCommand
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.persistence import check_fields, told_as_damage
from ascentopt.steering.table.context import SteeringContext, SteeringEvent
from ascentopt.steering.table.rows import steering_table
from ascentopt.steering.table.segment import SteeringSegment
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.typing import Floats
from ascentopt.units import deg
from ascentopt.validation import numbers
from ascentopt.world.body import Body

_FORM, _VERSION = "steering table", 2
"""Of the JSON file. Version 1 had no checksum."""

_STAGES_AND_ARCS = ("coast_before", "relit", "cut_early", "throttling", "turning_arcs")
"""Lists of a plan, which JSON gives back as such."""

_AXIS_FIX = "Give a unit vector, or leave it out."

_NEAR_A_POLE = sin(5.0 * deg)
"""Sine of the angle from the spin axis below which a path takes another axis."""


@checked
@dataclass(frozen=True, kw_only=True)
class TabulatedSteering(SteeringLaw, Tabular):
    """Steer by the clock, arc by arc. Raises `InputError`.

    Args:
        plan: the burns and coasts that the table is for.
        segments: one for each arc of the sequence, in order.
        axis: unit vector (3), inertial, that stands for z in the segments: east is axis x up. A
            path that comes near a pole needs another than z, since east turns about there.
        context: what it was made for, for readers of its table; None where nobody said.
    """

    plan: FlightPlan
    segments: Sequence[SteeringSegment]
    axis: Axis = SPIN
    context: SteeringContext | None = None

    def __post_init__(self) -> None:
        check_fields(type(self), vars(self), "Give what a table is made of.")
        object.__setattr__(self, "segments", tuple(self.segments))
        axis = numbers("TabulatedSteering", "axis", self.axis, "", _AXIS_FIX)
        if len(axis) != 3 or abs(hypot(*axis) - 1.0) > 1e-9:
            raise InputError(
                f"TabulatedSteering: axis is {axis}; it must be 3 numbers of length 1. {_AXIS_FIX}"
            )
        object.__setattr__(self, "axis", axis)
        names = [segment.arc for segment in self.segments]
        if len(set(names)) < len(names) or not names:
            raise InputError(
                f"TabulatedSteering: segments are for the arcs {names}; there must be one for each "
                "arc. Give every arc its own."
            )

    def __repr__(self) -> str:
        count = sum(len(one.times) for one in self.segments)
        return one_line(self, self.plan, f"{len(self.segments)} arcs, {count} samples")

    @classmethod
    def from_samples(
        cls, plan: FlightPlan, body: Body, arcs: Iterable[tuple[str, Floats, float]]
    ) -> TabulatedSteering:
        """Tabulate a flight given by inertial samples.

        `arcs` are triples: the arc's name, its samples (k, 12) as rows of time, state (7), thrust
        direction (3) and throttle, and its duration in s. The first sample is the arc's start. Arcs
        whose direction is zero throughout are coasts.
        """
        around = Surroundings(body)
        flown = list(arcs)
        axis = _axis([samples for _, samples, _ in flown])
        segments = tuple(_segment(around, axis, *arc) for arc in flown)
        return cls(plan=plan, segments=segments, axis=axis)

    def command(self, now: Moment) -> Command:
        """What the table says for the seconds since the arc began."""
        up, east, north, throttle = self._segment(now.arc.name).curve(now.elapsed)
        return Command(now.inertial(up, east, north, self.axis), throttle)

    def ending(self, arc: FlightArc) -> Ending:
        """By the clock; a throttled burn also where its tank runs dry before.

        What a throttle burned is known to the accuracy of the table between its samples.
        """
        seconds = self._segment(arc.name).duration
        return AfterDurationOrEmpty(seconds) if arc.kind.throttled else AfterDuration(seconds)

    def written(self, arc: FlightArc) -> WrittenCommand:
        """The segment's."""
        return WrittenCommand(self._segment(arc.name).curve, self.axis)

    def breaks(self, arc: FlightArc) -> tuple[float, ...]:
        """The samples: the third derivative of the spline jumps there."""
        return tuple(self._segment(arc.name).times)

    @cached_property
    def _by_name(self) -> dict[str, SteeringSegment]:
        return {segment.arc: segment for segment in self.segments}

    def _segment(self, arc: str) -> SteeringSegment:
        try:
            return self._by_name[arc]
        except KeyError:
            raise InputError(
                f"TabulatedSteering: there is no segment for the arc {arc!r}; there are segments "
                f"for {list(self._by_name)}. The table was made for another vehicle, mission or "
                "plan: fly it with its own."
            ) from None

    def to_table(self) -> Table:
        """The samples in the order of time, and among them a row for each event.

        The notes say what the columns mean and what the table was made for, so that another
        simulator can fly it. Angles are in degrees, as steering is written down; components beside
        them say the same to the last bit.
        """
        return steering_table(self.segments, self.axis, self.context)

    def to_dict(self) -> dict[str, Any]:
        """Everything, as lists, numbers and texts."""
        return {
            "form": _FORM,
            "version": _VERSION,
            "plan": asdict(self.plan),
            "axis": list(self.axis),
            "segments": [asdict(segment) for segment in self.segments],
            "context": None if self.context is None else asdict(self.context),
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> TabulatedSteering:
        """The table that `to_dict` wrote. Raises `InputError` for anything else."""
        form, version = data.get("form"), data.get("version")
        if form != _FORM or isinstance(version, bool) or version not in {1, _VERSION}:
            raise InputError(
                f"TabulatedSteering: the data are of the form {told(form)}, version "
                f"{told(version)}; this reads {_FORM!r}, versions 1 and {_VERSION}. Save the table "
                "again."
            )
        with told_as_damage("TabulatedSteering: the table"):
            plan = dict(data["plan"])
            plan |= {name: tuple(plan.get(name, ())) for name in _STAGES_AND_ARCS}
            check_fields(FlightPlan, plan, "Give what was saved.")
            segments = tuple(_segment_of(segment) for segment in data["segments"])
            axis = tuple(data.get("axis", SPIN))
            context = _context(data.get("context"))
            return cls(plan=FlightPlan(**plan), segments=segments, axis=axis, context=context)

    def save(self, path: str | Path) -> None:
        """Write JSON from which `load` makes an equal table, to the last bit.

        A checksum and the library's version are written with it. Raises `InputError` where nothing
        can be written.
        """
        persistence.write(path, self.to_dict())

    @classmethod
    def load(cls, path: str | Path) -> TabulatedSteering:
        """Read what `save` wrote. Raises `InputError` for any other or a damaged file."""
        owner, versions = "TabulatedSteering", (1, _VERSION)
        return cls.from_dict(persistence.saved(path, owner, _FORM, versions, unsigned=(1,)))


def _context(data: dict[str, Any] | None) -> SteeringContext | None:
    """None for a table that was saved without one."""
    if data is None:
        return None
    for event in data["events"]:
        check_fields(SteeringEvent, event, "Give what was saved.")
    events = tuple(SteeringEvent(**event) for event in data["events"])
    return SteeringContext(
        notes=tuple(data["notes"]), burning=tuple(data["burning"]), events=events
    )


def _segment_of(data: dict[str, Any]) -> SteeringSegment:
    check_fields(SteeringSegment, data, "Give what was saved.")
    return SteeringSegment(**data)


def _axis(arcs: list[Floats]) -> Axis:
    """The spin axis; for paths near a pole the normal of the plane in which they end."""
    burns = [samples for samples in arcs if np.any(samples[:, 8:11])]
    places = np.array([row for samples in burns for row in samples[:, 1:4]]).reshape(-1, 3)
    aside = np.hypot(places[:, 0], places[:, 1]) / np.linalg.norm(places, axis=1)
    if aside.min(initial=1.0) > _NEAR_A_POLE:
        return SPIN
    normal = np.cross(burns[-1][-1, 1:4], burns[-1][-1, 4:7])
    x, y, z = (normal / np.linalg.norm(normal)).tolist()
    return x, y, z


def _segment(
    around: Surroundings, axis: Axis, name: str, samples: Floats, duration: float
) -> SteeringSegment:
    if not np.any(samples[:, 8:11]):
        return SteeringSegment(arc=name, duration=duration)
    found = around.at_all(samples[:, 1:8], axis)
    frame = found[:, :9].reshape(-1, 3, 3)  # rows up, east, north
    up, east, north = np.einsum("kij,kj->ik", frame, samples[:, 8:11])
    return SteeringSegment(
        arc=name,
        duration=duration,
        times=(samples[:, 0] - samples[0, 0]).tolist(),
        altitude=found[:, 12].tolist(),
        speed=np.linalg.norm(found[:, 9:12], axis=1).tolist(),
        up=up.tolist(),
        east=east.tolist(),
        north=north.tolist(),
        throttle=samples[:, 11].tolist(),
    )

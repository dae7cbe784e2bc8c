"""What to do on one arc: samples of the direction of thrust and the throttle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import atan2, hypot, pi

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.guidance.tabulated_curve import Curve
from ascentopt.flight.results.telemetry import PLUMB
from ascentopt.tables import one_line
from ascentopt.validation import named, not_negative, numbers, same_length

_LIST_FIX = "Give one number for each sample."


@checked
@dataclass(frozen=True, kw_only=True)
class SteeringSegment:
    """What to do on one arc.

    Components of the thrust direction are along the local vertical (normal to the ellipsoid), east
    (z x up) and north (up x east) at the place that is flown over, and are scaled to length one.
    A time given twice is a jump. A coast has no samples. Raises `InputError`.

    Args:
        arc: name of the arc.
        duration: s, until the arc ends.
        times: s after the arc began, from zero, not decreasing.
        altitude: m, and
        speed: m/s relative to the air, at the samples; for the reader only.
        up, east, north: components of the direction.
        throttle: fraction of full thrust of the core.
    """

    arc: str
    duration: float
    times: Sequence[float] = ()
    altitude: Sequence[float] = ()
    speed: Sequence[float] = ()
    up: Sequence[float] = ()
    east: Sequence[float] = ()
    north: Sequence[float] = ()
    throttle: Sequence[float] = ()

    def __post_init__(self) -> None:
        named("SteeringSegment", self.arc, "Give the name of the arc.")
        owner = f"SteeringSegment {self.arc!r}"
        not_negative(owner, "duration", self.duration, "s", "Give seconds.")
        for name in _LISTS:
            kept = numbers(owner, name, getattr(self, name), "", _LIST_FIX)
            object.__setattr__(self, name, kept)
        same_length(owner, {name: getattr(self, name) for name in _LISTS}, _LIST_FIX)
        for before, after in zip(self.times, self.times[1:], strict=False):
            if after < before:
                raise InputError(
                    f"{owner}: times go from {before!r} back to {after!r} s; they must not "
                    "decrease. Sort the samples."
                )
        if any(hypot(*row) == 0.0 for row in zip(self.up, self.east, self.north, strict=True)):
            raise InputError(
                f"{owner}: up, east and north are all 0 at a sample; together they must have a "
                "length. Give a direction."
            )

    def __repr__(self) -> str:
        told = f"{len(self.times)} samples" if self.times else "nothing burns"
        return one_line(self, repr(self.arc), f"{self.duration:.2f} s", told)

    @property
    def pitch(self) -> tuple[float, ...]:
        """Angles in rad of the thrust above the local horizontal."""
        rows = zip(self.up, self.east, self.north, strict=True)
        return tuple(atan2(up, hypot(east, north)) for up, east, north in rows)

    @property
    def heading(self) -> tuple[float, ...]:
        """Angles in rad of the thrust from north, clockwise, 0 to 2 pi; 0 when it is vertical."""
        return tuple(map(_heading, self.east, self.north))

    @cached_property
    def curve(self) -> Curve:
        """Direction components and throttle between the samples."""
        return Curve.through(self.times, (self.up, self.east, self.north), (self.throttle,))


_LISTS = ("times", "altitude", "speed", "up", "east", "north", "throttle")


def _heading(east: float, north: float) -> float:
    return atan2(east, north) % (2.0 * pi) if hypot(east, north) > PLUMB else 0.0

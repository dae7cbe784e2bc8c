"""Directions of thrust, one small class each."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import pi

import casadi as ca

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.guidance.direction import BentFormula, Formula, View
from ascentopt.tables import in_a_line
from ascentopt.typing import Expr
from ascentopt.validation import finite

_SLOW = 1e-3
"""m/s below which there is no direction of motion to follow."""


@checked
@dataclass(frozen=True, kw_only=True)
class Lean(Formula):
    """Away from the vertical by `start` rad and `rate` rad/s of the phase.

    Towards `heading`, rad from north, clockwise; None = along the motion through the air, which
    must then not be vertical.
    """

    start: float = 0.0
    rate: float = 0.0
    heading: float | None = 0.5 * pi

    @property
    def form(self) -> tuple[Hashable, ...]:
        """Who gives the heading."""
        return (int(self.heading is None),)

    @property
    def numbers(self) -> tuple[float, ...]:
        """As declared."""
        return (self.start, self.rate, *([] if self.heading is None else [self.heading]))

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Up, leaned."""
        lean = numbers[0] + numbers[1] * view.phase_time
        ahead = _ahead(view, None if self.heading is None else numbers[2])
        return ca.cos(lean) * view.up + ca.sin(lean) * ahead


@checked
@dataclass(frozen=True, kw_only=True)
class AlongAirVelocity(Formula):
    """Along the motion through the air: zero angle of attack. Up while there is no motion."""

    @property
    def numbers(self) -> tuple[float, ...]:
        """None."""
        return ()

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Along it."""
        speed = ca.norm_2(view.air_velocity)
        return ca.if_else(speed < _SLOW, view.up, view.air_velocity / ca.fmax(speed, _SLOW))


@checked
@dataclass(frozen=True, kw_only=True)
class Level(Formula):
    """Horizontal, in the plane of the inertial motion."""

    @property
    def numbers(self) -> tuple[float, ...]:
        """None."""
        return ()

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Across the radius."""
        return _along_and_out(view)[0]


@checked
@dataclass(frozen=True, kw_only=True)
class LinearTangent(Formula):
    """Tangent of the pitch falls linearly: tan(pitch) = start - rate (time - since).

    Pitch is above the plane across the radius, in the plane of the inertial motion. It is the
    optimum over a flat body without air (D. F. Lawden, Optimal Trajectories for Space Navigation,
    1963; A. E. Bryson and Y.-C. Ho, Applied Optimal Control, 1975, sec. 2.7; both from memory).
    `rate` is in 1/s, `since` in s from lift-off; None = since the present phase of the law began.
    """

    start: float
    rate: float
    since: float | None = 0.0

    @property
    def form(self) -> tuple[Hashable, ...]:
        """By which clock."""
        return (int(self.since is None),)

    @property
    def numbers(self) -> tuple[float, ...]:
        """As declared."""
        return (self.start, self.rate, *([] if self.since is None else [self.since]))

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Leaned out of the horizontal."""
        along, out = _along_and_out(view)
        elapsed = view.phase_time if self.since is None else view.time - numbers[2]
        tangent = numbers[0] - numbers[1] * elapsed
        return (along + tangent * out) / ca.sqrt(1.0 + tangent**2)


@dataclass(frozen=True, kw_only=True)
class PitchProgramme(BentFormula):
    """Pitch against time or altitude, linear between knots and level beyond them.

    Args:
        abscissae: s since lift-off or m of altitude, increasing.
        pitches: rad above the local horizontal at the knots.
        heading: rad from north, clockwise; None = along the motion through the air, which must then
            not be vertical.
        by_altitude: whether the abscissae are altitudes.
    """

    abscissae: tuple[float, ...]
    pitches: tuple[float, ...]
    heading: float | None = None
    by_altitude: bool = False

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give each knot an abscissa and a pitch in rad, abscissae increasing."
        for name in ("abscissae", "pitches"):
            for value in getattr(self, name):
                finite("PitchProgramme", name, value, "", fix)
        rising = all(b > a for a, b in zip(self.abscissae, self.abscissae[1:], strict=False))
        if not rising or len(self.abscissae) != len(self.pitches) or not self.pitches:
            raise InputError(
                f"PitchProgramme: abscissae are {self.abscissae} and pitches {self.pitches}; there "
                f"must be as many of one as of the other, at least one. {fix}"
            )

    @property
    def form(self) -> tuple[Hashable, ...]:
        """Number of knots, what they count, and who gives the heading."""
        return len(self.pitches), int(self.by_altitude), int(self.heading is None)

    @property
    def numbers(self) -> tuple[float, ...]:
        """Abscissae, pitches, and the heading if it is given."""
        return (*self.abscissae, *self.pitches, *([] if self.heading is None else [self.heading]))

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Out of the horizontal by the pitch."""
        count = len(self.pitches)
        pitch = broken_line(self.abscissa(view), [numbers[k] for k in range(2 * count)], count)
        ahead = _ahead(view, None if self.heading is None else numbers[2 * count])
        return ca.sin(pitch) * view.up + ca.cos(pitch) * ahead

    def abscissa(self, view: View) -> Expr:
        """What the abscissae count."""
        return view.altitude if self.by_altitude else view.time

    @property
    def corners(self) -> tuple[float, ...]:
        """The knots."""
        return self.abscissae

    @property
    def pieces(self) -> tuple[Formula, ...]:
        """Straight lines."""
        x, y = self.abscissae, self.pitches
        ends = zip(x, y, x[1:], y[1:], strict=False)
        inner = [_Straight(self, at=a, pitch=b, slope=(d - b) / (c - a)) for a, b, c, d in ends]
        first = _Straight(self, at=x[0], pitch=y[0], slope=0.0)
        return (first, *inner, _Straight(self, at=x[-1], pitch=y[-1], slope=0.0))


@dataclass(frozen=True, kw_only=True)
class PitchBySpeed(PitchProgramme):
    """Pitch against the speed through the air, m/s."""

    __repr__ = in_a_line

    def abscissa(self, view: View) -> Expr:
        """That speed."""
        return ca.norm_2(view.air_velocity)


@dataclass(frozen=True)
class _Straight(Formula):
    """A piece of a pitch programme, without its ends."""

    programme: PitchProgramme
    at: float
    pitch: float
    slope: float

    @property
    def form(self) -> tuple[Hashable, ...]:
        """Against what, and who gives the heading."""
        return (type(self.programme), *self.programme.form[1:])

    @property
    def numbers(self) -> tuple[float, ...]:
        """Of the line, and the heading if it is given."""
        heading = self.programme.heading
        return self.at, self.pitch, self.slope, *([] if heading is None else [heading])

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Out of the horizontal by the pitch."""
        pitch = numbers[1] + numbers[2] * (self.programme.abscissa(view) - numbers[0])
        ahead = _ahead(view, None if self.programme.heading is None else numbers[3])
        return ca.sin(pitch) * view.up + ca.cos(pitch) * ahead


def broken_line(at: Expr, numbers: Sequence[Expr], count: int) -> Expr:
    """Linear between knots: each adds its slope's change to what its forerunner began."""
    x, y = numbers[:count], numbers[count:]
    value = y[0]
    for k in range(count - 1):
        run = ca.fmin(ca.fmax(at - x[k], 0.0), x[k + 1] - x[k])
        value += (y[k + 1] - y[k]) / (x[k + 1] - x[k]) * run
    return value


def _ahead(view: View, heading: Expr | None) -> Expr:
    """(3,) unit horizontal vector along the heading, or along the motion through the air."""
    if heading is not None:
        return ca.sin(heading) * view.east + ca.cos(heading) * view.north
    east, north = ca.dot(view.air_velocity, view.east), ca.dot(view.air_velocity, view.north)
    level = ca.fmax(ca.sqrt(east**2 + north**2), _SLOW)
    return (east * view.east + north * view.north) / level


def _along_and_out(view: View) -> tuple[Expr, Expr]:
    """(3,) unit vectors: across the radius in the plane of motion, and along the radius."""
    out = view.position / ca.norm_2(view.position)
    across = view.velocity - ca.dot(view.velocity, out) * out
    return across / ca.fmax(ca.norm_2(across), _SLOW), out

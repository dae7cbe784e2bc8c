"""When engines are throttled: by a broken line, and to keep loads within their limits."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import casadi as ca

from ascentopt.errors import InputError
from ascentopt.flight.guidance.direction import (
    SOON,
    BentFormula,
    Computed,
    Formula,
    FormulaKey,
    Push,
    View,
)
from ascentopt.mission import FlightLimits
from ascentopt.steering.formulas import broken_line
from ascentopt.steering.pitch_table import Against
from ascentopt.tables import in_a_line
from ascentopt.typing import Expr
from ascentopt.units import km, kPa
from ascentopt.validation import finite

_SETTLING = 2.0  # s in which what is left to a limit on dynamic pressure falls to a third
_AIMED_AT = 0.998
"""Of a limit on dynamic pressure. What is asked for is what will be wanted `SOON` / 2 later, which
is up to 0.1 per cent more."""

_STRICTNESS = 100.0  # a tenth more steps; without it one flight in twenty misses by a metre
_ROUNDED = 0.05  # of full thrust
_LEAST_PUSH = 0.01  # m/s^2; an engine that hardly pushes along the motion does not govern the speed

_SHOWN = {Against.TIME: ("time since lift-off (s)", 1.0), Against.ALTITUDE: ("altitude (km)", km)}


@dataclass(frozen=True, kw_only=True)
class ThrottleProgramme:
    """Throttle of the core: linear between knots, constant beyond them, and less where it must be.

    No engine is throttled below its least; one that cannot be throttled is not.

    Args:
        against: what the abscissae count.
        abscissae: (k,) s since lift-off or m above the ellipsoid, increasing; at least one.
        throttles: (k,) fractions of full thrust, above 0 and at most 1.
        acceleration: m/s^2 along the axis that is not exceeded as long as the engine can be
            throttled; None for any.
        dynamic_pressure: Pa, likewise.
    """

    against: Against = Against.TIME
    abscissae: tuple[float, ...] = (0.0,)
    throttles: tuple[float, ...] = (1.0,)
    acceleration: float | None = None
    dynamic_pressure: float | None = None

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give each knot an abscissa and a throttle, abscissae increasing."
        for value in (*self.abscissae, *self.throttles):
            finite("ThrottleProgramme", "a knot", value, "", fix)
        rising = all(b > a for a, b in zip(self.abscissae, self.abscissae[1:], strict=False))
        within = all(0.0 < share <= 1.0 for share in self.throttles)
        alike = len(self.abscissae) == len(self.throttles) > 0
        if not rising or not within or not alike or self.against not in _SHOWN:
            raise InputError(
                f"ThrottleProgramme: abscissae are {self.abscissae} and throttles "
                f"{self.throttles} against {self.against}; there must be as many of one as of the "
                f"other, throttles above 0 and at most 1, against time or altitude. {fix}"
            )
        for name, unit in (("acceleration", "m/s^2"), ("dynamic_pressure", "Pa")):
            most = getattr(self, name)
            if most is not None and not most > 0.0:
                raise InputError(
                    f"ThrottleProgramme: {name} is {most}; it must be positive. "
                    f"Give it in {unit}, or None."
                )

    def __str__(self) -> str:
        lines = []
        if min(self.throttles) < 1.0:
            head, size = _SHOWN[self.against]
            pairs = zip(self.abscissae, self.throttles, strict=True)
            rows = [f"{at / size:>24.2f}{share:>14.3f}" for at, share in pairs]
            lines = [f"{head:>24}{'throttle':>14}", *rows]
        if self.acceleration is not None:
            lines.append(f"throttled to keep within {self.acceleration:.4g} m/s^2 along the axis")
        if self.dynamic_pressure is not None:
            most = self.dynamic_pressure / kPa
            lines.append(f"throttled to keep the dynamic pressure within {most:.4g} kPa")
        return "\n".join(lines) or "full throttle"

    @property
    def numbers(self) -> tuple[float, ...]:
        """Knots, then the limits that there are."""
        limits = (one for one in (self.acceleration, self.dynamic_pressure) if one is not None)
        return (*self.abscissae, *self.throttles, *limits)

    @property
    def shape(self) -> tuple[Hashable, ...]:
        """What decides the form of its expression."""
        limited = self.acceleration is not None, self.dynamic_pressure is not None
        return len(self.abscissae), self.against, *limited

    def share(self, view: View, push: Push, numbers: Expr) -> Expr:
        """Throttle."""
        count = len(self.abscissae)
        at = view.altitude if self.against is Against.ALTITUDE else view.time
        share = broken_line(at, [numbers[k] for k in range(2 * count)], count)
        if self.acceleration is not None:
            none, full = push.none.axial_acceleration, push.full.axial_acceleration
            share = ca.fmin(share, (numbers[2 * count] - none) / (full - none))
        if self.dynamic_pressure is not None:
            last = len(self.numbers) - 1
            share = _smoothly_less(share, _for_pressure(push, numbers[last]))
        return share


def _smoothly_less(one: Expr, other: Expr) -> Expr:
    """The lesser of two throttles without a corner where they are equal.

    A corner within a step costs both flights a decimetre. Half of `_ROUNDED` is lost there.
    """
    apart = ca.fabs(one - other)
    below = 0.5 * _ROUNDED**2 / (apart + ca.sqrt(apart**2 + _ROUNDED**2))
    return ca.fmin(one, other) - below


def _for_pressure(push: Push, most: Expr) -> Expr:
    """Throttle with which the dynamic pressure q comes to a limit as an exponential.

    d(ln q)/dt = (limit/q - 1) / `_SETTLING`, of which one part is the motion's, since air is
    thinner higher up, and the other twice the acceleration along the motion over the speed.
    """
    if push.later is None:
        return 1.0
    now = push.none
    by_motion = ca.log(push.later / now.dynamic_pressure) / SOON
    rate = (_AIMED_AT * most / now.dynamic_pressure - 1.0) / _SETTLING
    wanted = 0.5 * (rate - by_motion) * now.air_speed
    along = now.air_velocity / now.air_speed
    none, full = (ca.dot(one.acceleration, along) for one in (push.none, push.full))
    return (wanted - none) / ca.fmax(full - none, _LEAST_PUSH)


def within(limits: FlightLimits) -> ThrottleProgramme | None:
    """Full thrust, but within limits on axial acceleration and dynamic pressure; None without."""
    most, pressure = limits.axial_acceleration, limits.dynamic_pressure
    if most is None and pressure is None:
        return None
    return ThrottleProgramme(acceleration=most, dynamic_pressure=pressure)


@dataclass(frozen=True, kw_only=True)
class Throttled(Formula):
    """A direction with the throttle that goes with it.

    Args:
        along: the direction.
        programme: the throttle.
        least: below which the engine cannot be throttled.
    """

    along: Formula
    programme: ThrottleProgramme
    least: float

    __repr__ = in_a_line

    @property
    def computed(self) -> Computed | None:
        """The direction's."""
        return self.along.computed

    @property
    def throttles(self) -> bool:
        """It does."""
        return True

    @property
    def strictness(self) -> float:
        """More where a dynamic pressure is kept: the throttle then falls within seconds."""
        return 1.0 if self.programme.dynamic_pressure is None else _STRICTNESS

    @property
    def numbers(self) -> tuple[float, ...]:
        """The direction's, the throttle's, and the least."""
        return (*self.along.numbers, *self.programme.numbers, self.least)

    @property
    def key(self) -> FormulaKey:
        """Form of the direction, and of the programme."""
        return FormulaKey(Throttled, (self.along.key, *self.programme.shape), self)

    def direction(self, view: View, numbers: Expr) -> Expr:
        """The direction's own."""
        return self.along.direction(view, numbers[: len(self.along.numbers)])

    def throttle(self, view: View, push: Push, numbers: Expr) -> Expr:
        """The programme's, but no less than the least."""
        first = len(self.along.numbers)
        own = numbers[first : first + len(self.programme.numbers)]
        least = numbers[first + len(self.programme.numbers)]
        return ca.fmax(self.programme.share(view, push, own), least)


@dataclass(frozen=True, kw_only=True)
class BentThrottled(Throttled, BentFormula):
    """The same for a direction with corners, flown piece by piece as it is without a throttle."""

    along: BentFormula

    __repr__ = in_a_line

    @property
    def corners(self) -> tuple[float, ...]:
        """The direction's."""
        return self.along.corners

    @property
    def pieces(self) -> tuple[Formula, ...]:
        """The direction's, each with the throttle."""
        return tuple(
            Throttled(along=piece, programme=self.programme, least=self.least)
            for piece in self.along.pieces
        )

    def abscissa(self, view: View) -> Expr:
        """The direction's."""
        return self.along.abscissa(view)


def throttled(along: Formula, programme: ThrottleProgramme, least: float) -> Throttled:
    """A direction with a throttle; `least` is the engine's."""
    if isinstance(along, BentFormula):
        return BentThrottled(along=along, programme=programme, least=least)
    return Throttled(along=along, programme=programme, least=least)

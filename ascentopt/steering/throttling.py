"""When engines are throttled: by a broken line, and to keep an acceleration."""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca

from ascentopt.errors import InputError
from ascentopt.flight.formula import BentFormula, Formula, FormulaKey, View
from ascentopt.mission import FlightLimits
from ascentopt.steering.formulas import broken_line
from ascentopt.steering.pitch_table import Against
from ascentopt.typing import Expr
from ascentopt.units import km
from ascentopt.validation import finite

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
    """

    against: Against = Against.TIME
    abscissae: tuple[float, ...] = (0.0,)
    throttles: tuple[float, ...] = (1.0,)
    acceleration: float | None = None

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
        if self.acceleration is not None and not self.acceleration > 0.0:
            raise InputError(
                f"ThrottleProgramme: acceleration is {self.acceleration}; it must be positive. "
                "Give it in m/s^2, or None."
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
        return "\n".join(lines) or "full throttle"

    @property
    def numbers(self) -> tuple[float, ...]:
        """Knots, then the acceleration if there is one."""
        most = () if self.acceleration is None else (self.acceleration,)
        return (*self.abscissae, *self.throttles, *most)

    def share(self, view: View, push: tuple[Expr, Expr], numbers: Expr) -> Expr:
        """Throttle; `push` is the axial acceleration without the core and at its full thrust."""
        count = len(self.abscissae)
        at = view.altitude if self.against is Against.ALTITUDE else view.time
        share = broken_line(at, [numbers[k] for k in range(2 * count)], count)
        if self.acceleration is None:
            return share
        none, full = push
        return ca.fmin(share, (numbers[2 * count] - none) / (full - none))


def within(limits: FlightLimits) -> ThrottleProgramme | None:
    """Full thrust, but within the limit on axial acceleration; None where there is none."""
    most = limits.axial_acceleration
    return None if most is None else ThrottleProgramme(acceleration=most)


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

    @property
    def throttles(self) -> bool:
        """It does."""
        return True

    @property
    def numbers(self) -> tuple[float, ...]:
        """The direction's, the throttle's, and the least."""
        return (*self.along.numbers, *self.programme.numbers, self.least)

    @property
    def key(self) -> FormulaKey:
        """Form of the direction, and of the programme."""
        one = self.programme
        shape = len(one.abscissae), one.against, one.acceleration is None
        return FormulaKey(Throttled, (self.along.key, *shape), self)

    def direction(self, view: View, numbers: Expr) -> Expr:
        """The direction's own."""
        return self.along.direction(view, numbers[: len(self.along.numbers)])

    def throttle(self, view: View, push: tuple[Expr, Expr], numbers: Expr) -> Expr:
        """The programme's, but no less than the least."""
        first = len(self.along.numbers)
        own = numbers[first : first + len(self.programme.numbers)]
        least = numbers[first + len(self.programme.numbers)]
        return ca.fmax(self.programme.share(view, push, own), least)


@dataclass(frozen=True, kw_only=True)
class BentThrottled(Throttled, BentFormula):
    """The same for a direction with corners, flown piece by piece as it is without a throttle."""

    along: BentFormula

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

"""The gravity turn: straight up, a kick, and then gravity does the turning."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, sin

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import AfterPhaseDuration, Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.steering.formulas import AlongAirVelocity, Lean
from ascentopt.steering.programme import Programme
from ascentopt.tables import in_a_line
from ascentopt.units import deg
from ascentopt.validation import instance, positive, within


@checked
@dataclass(frozen=True, kw_only=True)
class Kick:
    """A pitch-over out of the vertical. Raises `InputError`.

    Args:
        at: when it begins, for instance ``AtAirSpeed(60.0)`` or ``AtAltitude(500.0)``.
        angle: rad from the vertical.
        heading: rad from north, clockwise; pi/2 is due east.
        rate: rad/s of the pitch-over. 2 deg/s is short beside the flight (common practice, no
            source).
    """

    at: Ending
    angle: float
    heading: float = 0.5 * pi
    rate: float = 2.0 * deg

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        instance("Kick", "at", self.at, (Ending,), "Give an ending, such as AtAirSpeed(60.0).")
        positive("Kick", "angle", self.angle, "rad", "Give a small angle, such as 2 * deg.")
        within("Kick", "angle", self.angle, "rad", (0.0, 0.5 * pi), "Give less than 90 degrees.")
        fix = "Give radians clockwise from north, for instance 90 * deg."
        within("Kick", "heading", self.heading, "rad", (-2.0 * pi, 2.0 * pi), fix)
        positive("Kick", "rate", self.rate, "rad/s", "Give radians per second.")


def kick_of(law: SteeringLaw) -> Kick | None:
    """The kick of a law that begins with one, of whatever class; None where it does not."""
    if isinstance(law, GravityTurn):
        return law.kick
    if not isinstance(law, Programme) or len(law.steps) < 3:
        return None
    upright, turning, holding = law.steps[:3]
    lean, over = turning.formula, turning.until
    held = isinstance(holding.until, Aligned)
    if not (held and isinstance(lean, Lean) and isinstance(over, AfterPhaseDuration)):
        return None
    if upright.until is None or lean.heading is None or not lean.rate > 0.0 < over.seconds:
        return None
    angle = lean.rate * over.seconds
    return Kick(at=upright.until, angle=angle, heading=lean.heading, rate=lean.rate)


@dataclass(frozen=True)
class Aligned(Ending):
    """When the motion through the air leans from the vertical as far as the thrust of a kick."""

    angle: float
    heading: float

    def value(self, now: Moment) -> float:
        """Sine of the lean beyond the kick's, in the plane of the kick."""
        speed = now.air_speed
        if speed < 1e-3:
            return -sin(self.angle)
        ahead = sin(self.heading) * now.east + cos(self.heading) * now.north
        across = cos(self.angle) * ahead - sin(self.angle) * now.up
        return float(np.dot(now.air_velocity, across)) / speed


@checked
@dataclass(frozen=True, kw_only=True)
class GravityTurn(SteeringLaw):
    """Thrust along the motion through the air, after a kick that tips the vehicle over.

    Straight up until the kick; pitch over at a constant rate; hold that lean until the motion
    has come round to it; from then on fly at zero angle of attack.

    Args:
        plan: the burns and coasts.
        kick: how the turn begins; None = zero angle of attack from the start, for a flight that
            begins under way.
        endings: pairs of an arc's name and when it ends, for arcs that do not know it themselves.
        throttle: of the core.
    """

    plan: FlightPlan
    kick: Kick | None
    endings: tuple[tuple[str, Ending], ...] = ()
    throttle: float = 1.0

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give a fraction of full thrust."
        within("GravityTurn", "throttle", self.throttle, "", (0.0, 1.0), fix)

    @cached_property
    def phases(self) -> tuple[Ending, ...]:
        """Straight up, pitching over, holding; then following, without end."""
        if self.kick is None:
            return ()
        kick = self.kick
        turning = AfterPhaseDuration(kick.angle / kick.rate)
        return kick.at, turning, Aligned(kick.angle, kick.heading)

    def command(self, now: Moment) -> Command:
        """As the phase says."""
        return Command(now.direction(self._formulas[now.phase]), self.throttle)

    def formula(self, arc: FlightArc, phase: int) -> Formula | None:
        """As the phase says; only full throttle is flown compiled."""
        return self._formulas[phase] if self.throttle == 1.0 else None

    @cached_property
    def _formulas(self) -> tuple[Formula, ...]:
        if self.kick is None:
            return (AlongAirVelocity(),)
        kick = self.kick
        return (
            Lean(heading=kick.heading),
            Lean(rate=kick.rate, heading=kick.heading),
            Lean(start=kick.angle, heading=kick.heading),
            AlongAirVelocity(),
        )

    def ending(self, arc: FlightArc) -> Ending | None:
        """As given, or None."""
        return dict(self.endings).get(arc.name)

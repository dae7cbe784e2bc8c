"""Gravity turn from a kick: tip over a little at some speed, and follow the motion from then on."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.guidance.ending import AfterPhaseDuration, AtAirSpeed
from ascentopt.rules.laws.rule import Open, Pad, Rule
from ascentopt.steering.formulas import AlongAirVelocity, Lean
from ascentopt.steering.gravity_turn import Aligned
from ascentopt.steering.programme import Phase
from ascentopt.units import deg

KICK_RATE = 2.0 * deg
"""rad/s of the pitch-over (common practice, no source)."""

HABITUAL_SPEED = 60.0
"""m/s at which vehicles are tipped over by habit (common practice, no source)."""

_HABITUAL_ANGLE = 3.0 * deg  # common practice, no source
_WIDEST = 60.0 * deg


@dataclass(frozen=True, kw_only=True)
class KickRule(Rule):
    """Straight up to a speed, tip over by an angle, then zero angle of attack."""

    @property
    def name(self) -> str:
        """Its name."""
        return "gravity turn from a kick"

    @property
    def open(self) -> tuple[Open, ...]:
        """Speed and angle of the kick."""
        return (
            Open(name="kick speed", unit="m/s", low=10.0, high=300.0),
            Open(name="kick angle", unit="rad", low=0.1 * deg, high=_WIDEST),
        )

    def habit(self, pad: Pad) -> tuple[float, ...]:
        """3 degrees at 60 m/s (common practice, no source)."""
        return HABITUAL_SPEED, _HABITUAL_ANGLE

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Up, over, hold, follow."""
        return kicked(values[0], values[1], pad.heading)


def kicked(speed: float, angle: float, heading: float) -> tuple[Phase, ...]:
    """The phases of a gravity turn from a kick at `speed` m/s by `angle` rad towards `heading`."""
    return (
        Phase(formula=Lean(heading=heading), until=AtAirSpeed(speed)),
        Phase(
            formula=Lean(rate=KICK_RATE, heading=heading),
            until=AfterPhaseDuration(angle / KICK_RATE),
        ),
        Phase(formula=Lean(start=angle, heading=heading), until=Aligned(angle, heading)),
        Phase(formula=AlongAirVelocity()),
    )

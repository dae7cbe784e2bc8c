"""Gravity turn from a kick: tip over a little at some speed, and follow the motion from then on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ascentopt.arguments import checked
from ascentopt.flight.guidance.ending import AfterPhaseDuration, AtAirSpeed
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.phases.vertical_rise import engines_in_steps, pad_pressure, pad_weight
from ascentopt.mission import Mission
from ascentopt.rules.laws.habits import KICK_ANGLE, KICK_SPEED, check_habit, habitual_speed
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.formulas import AlongAirVelocity, Lean
from ascentopt.steering.gravity_turn import Aligned
from ascentopt.steering.programme import Phase
from ascentopt.units import deg

CALM_RATE = 2.0 * deg
"""rad/s of the tip-over of an ordinary launcher on Earth (common practice, no source)."""

_CALM_GAIN = 3.0
"""m/s^2 that it gains as it leaves the pad, with 1.3 times its weight (common practice)."""

_WIDEST = 60.0 * deg


@checked
@dataclass(frozen=True, kw_only=True)
class KickRule(Rule):
    """Straight up to a speed, tip over by an angle, then zero angle of attack.

    The habit is 3 degrees at 60 m/s on Earth, elsewhere at `habitual_speed` (common practice, no
    source). It is tipped over at `tip_over_rate`.

    Args:
        habit: one's own instead, speed in m/s and angle in rad. Raises `InputError`.
    """

    habit: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        check_habit("KickRule", self.habit, self.open)

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

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """One's own, or the common one."""
        return self.habit or (habitual_speed(pad.mission.body), KICK_ANGLE)

    def nominal(self, pad: Pad) -> tuple[float, ...]:
        """The habit on Earth: a kick too late costs little, one too early may leave no flight."""
        return KICK_SPEED, KICK_ANGLE

    def as_flown(self, values: tuple[float, ...], rise_speed: float) -> tuple[float, ...]:
        """It is not tipped over before the vertical rise ends."""
        return max(values[0], rise_speed), values[1]

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Up, over, hold, follow."""
        return kicked(values[0], values[1], pad)


def kicked(speed: float, angle: float, pad: Pad) -> tuple[Phase, ...]:
    """The phases of a gravity turn from a kick at `speed` m/s by `angle` rad."""
    rate, heading = tip_over_rate(pad), pad.heading
    return (
        Phase(formula=Lean(heading=heading), until=AtAirSpeed(speed)),
        Phase(
            formula=Lean(rate=rate, heading=heading),
            until=AfterPhaseDuration(angle / rate),
        ),
        Phase(formula=Lean(start=angle, heading=heading), until=Aligned(angle, heading)),
        Phase(formula=AlongAirVelocity()),
    )


def tip_over_rate(pad: Pad) -> float:
    """In rad/s: by each degree the speed grows by the same part of the habitual kick's.

    A tip-over at the rate w opens an angle to the motion as long as w v is more than what gravity
    turns by; what the air makes of that grows with the square of v. So a vehicle that is brisk for
    the speed at which it is tipped over has to be tipped over before it is fast: w v / gain, which
    has no dimension, is that of an ordinary launcher on Earth. None is tipped over more slowly than
    that, or faster than the mission's limit on the pitch rate allows.
    """
    return _rate(pad.mission, pad.sequence)


@lru_cache(maxsize=64)
def _rate(mission: Mission, sequence: Sequence) -> float:
    thrust, _ = next(engines_in_steps(sequence.arcs[0], 0.0, pad_pressure(mission)))
    gain = thrust / sequence.mass - pad_weight(mission)
    brisk = gain / _CALM_GAIN * KICK_SPEED / habitual_speed(mission.body)
    rate, limit = CALM_RATE * max(1.0, brisk), mission.limits.pitch_rate
    return rate if limit is None else min(rate, limit)

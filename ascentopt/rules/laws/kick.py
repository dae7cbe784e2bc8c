"""Gravity turn from a kick: tip over a little at some speed, and follow the motion from then on."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.guidance.ending import AfterPhaseDuration, AtAirSpeed
from ascentopt.rules.laws.habits import KICK_ANGLE, KICK_SPEED, check_habit, habitual_speed
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.rules.laws.tip_over import tip_over_rate
from ascentopt.steering.formulas import AlongAirVelocity, Lean
from ascentopt.steering.gravity_turn import Aligned
from ascentopt.steering.programme import Phase
from ascentopt.units import deg

_WIDEST = 60.0 * deg


@dataclass(frozen=True, kw_only=True)
class KickRule(Rule):
    """Straight up to a speed, tip over by an angle, then zero angle of attack.

    The habit is 3 degrees at 60 m/s on Earth, elsewhere at `habitual_speed` (common practice, no
    source).

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

"""Constant pitch rate: from some speed on, tip over at the same rate until level."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ascentopt.arguments import checked
from ascentopt.flight.guidance.ending import AfterPhaseDuration, AtAirSpeed
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.rules.laws.habits import KICK_SPEED, check_habit, habitual_speed
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.formulas import Lean
from ascentopt.steering.programme import Phase
from ascentopt.units import deg

_SLOWEST, _FASTEST = 0.02 * deg, 5.0 * deg

# Until it leans so far the vehicle is steered by the compass; then it keeps to the plane in which
# it moves, for a compass course is no great circle.
_BY_COMPASS = 12.0 * deg


@checked
@dataclass(frozen=True, kw_only=True)
class PitchRateRule(Rule):
    """Straight up to a speed, then pitch over at a constant rate to the horizontal, and stay so.

    By habit from `habitual_speed` on, at the rate that is level at two thirds of all burning
    (common practice, no source).

    Args:
        habit: one's own instead, speed in m/s and rate in rad/s. Raises `InputError`.
    """

    habit: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        check_habit("PitchRateRule", self.habit, self.open)

    @property
    def name(self) -> str:
        """Its name."""
        return "constant pitch rate"

    @property
    def open(self) -> tuple[Open, ...]:
        """Speed at the start, and rate."""
        return (
            Open(name="start speed", unit="m/s", low=10.0, high=300.0),
            Open(name="pitch rate", unit="rad/s", low=_SLOWEST, high=_FASTEST),
        )

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """One's own, or the common one."""
        return self.habit or (habitual_speed(pad.mission.body), _level_at_two_thirds(pad))

    def nominal(self, pad: Pad) -> tuple[float, ...]:
        """The habit on Earth: see `KickRule`."""
        return KICK_SPEED, _level_at_two_thirds(pad)

    def as_flown(self, values: tuple[float, ...], rise_speed: float) -> tuple[float, ...]:
        """It is not tipped over before the vertical rise ends."""
        return max(values[0], rise_speed), values[1]

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Up, over by the compass, over in the plane of motion, level."""
        speed, rate = values
        compass, plane = _BY_COMPASS / rate, (0.5 * pi - _BY_COMPASS) / rate
        heading = pad.heading
        return (
            Phase(formula=Lean(heading=heading), until=AtAirSpeed(speed)),
            Phase(formula=Lean(rate=rate, heading=heading), until=AfterPhaseDuration(compass)),
            Phase(
                formula=Lean(start=_BY_COMPASS, rate=rate, heading=None),
                until=AfterPhaseDuration(plane),
            ),
            Phase(formula=Lean(start=0.5 * pi, heading=None)),
        )


def _level_at_two_thirds(pad: Pad) -> float:
    """Rate in rad/s."""
    burning = sum(a.duration[1] for a in _burns(pad))
    return min(max(0.5 * pi / (0.67 * burning), _SLOWEST), _FASTEST)


def _burns(pad: Pad) -> list[FlightArc]:
    """One burning arc for each stage."""
    by_stage = {arc.stage: arc for arc in pad.sequence.arcs if arc.burning}
    return list(by_stage.values())

"""Gravity turn through an angle at an altitude: 45 degrees near 10 km."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.laws.habits import ANGLE, ANGLE_ALTITUDE, check_habit, habitual_speed
from ascentopt.rules.laws.kick import kicked
from ascentopt.rules.laws.kick_for_angle import KickForLean
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.programme import Phase
from ascentopt.units import deg, km
from ascentopt.world import Body, earth


@checked
@dataclass(frozen=True, kw_only=True)
class AngleRule(Rule):
    """Tip over at `habitual_speed` by whatever leads through the angle at the altitude.

    45 degrees at 10 km is common practice, no source. On other bodies the altitude is where the air
    is as dense as at 10 km on Earth or, where it never is, has the same part of its density at the
    surface. Flight-path angle is that of the motion through the air, above the horizontal.

    Args:
        altitude: m; None = the habit's.
        habit: an angle of one's own instead of 45 degrees, one number, rad from the vertical.
            Raises `InputError`.
    """

    altitude: float | None = None
    habit: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        check_habit("AngleRule", self.habit, self.open)

    @property
    def name(self) -> str:
        """Its name."""
        return "flight-path angle at an altitude"

    @property
    def open(self) -> tuple[Open, ...]:
        """How far from the vertical the motion leans at the altitude."""
        return (Open(name="lean at the altitude", unit="rad", low=0.5 * deg, high=89.0 * deg),)

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """One's own, or 45 degrees."""
        return self.habit or (ANGLE,)

    def at(self, pad: Pad) -> float:
        """The altitude in m."""
        if self.altitude is not None:
            return self.altitude
        return habitual_altitude(pad.mission.body)

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Those of the kick that leads there."""
        return kicked(habitual_speed(pad.mission.body), self.kick(values[0], pad), pad)

    def remark(self, pad: Pad) -> str:
        """The altitude."""
        return f"the altitude is {self.at(pad) / km:.4g} km"

    def kick(self, lean: float, pad: Pad) -> float:
        """Angle of the kick in rad after which the motion leans so at the altitude.

        Raises:
            CompiledFlightError: when no kick leads there; its kind says on which side.
        """
        return KickForLean(self.at(pad))(lean, pad)

    def learning(self) -> Rule:
        """With the kicks that were found as a help for those to come."""
        return LearnedAngle(altitude=self.altitude, habit=self.habit)


@dataclass(frozen=True, eq=False, kw_only=True)
class LearnedAngle(AngleRule):
    """The same for one mission, not to be shared by threads."""

    _finders: list[KickForLean] = field(default_factory=list, init=False)

    def kick(self, lean: float, pad: Pad) -> float:
        """Sought from the kicks that were found before."""
        if not self._finders:
            self._finders.append(KickForLean(self.at(pad)))
        return self._finders[0](lean, pad)


@lru_cache(maxsize=32)
def habitual_altitude(body: Body) -> float:
    """The altitude in m at which 45 degrees are flown by habit.

    Raises:
        CompiledFlightError: on a body without air.
    """
    air = body.atmosphere
    if air is None:
        raise CompiledFlightError("there is no air to choose the altitude by")
    there, ground = (float(earth().atmosphere.density(h)) for h in (ANGLE_ALTITUDE, 0.0))  # type: ignore[union-attr]
    surface = float(air.density(max(air.bottom, 0.0)))
    wanted = there if there < 0.9 * surface else surface * there / ground
    heights = np.linspace(max(air.bottom, 0.0), air.ceiling, 4001)
    densities = np.asarray(air.density(heights), dtype=float).ravel()
    return float(np.interp(-np.log(wanted), -np.log(np.maximum(densities, 1e-300)), heights))

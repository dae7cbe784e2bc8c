"""The gravity turn through an angle at an altitude, both of them open."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.rules.laws.angle_at_altitude import AngleRule, habitual_altitude
from ascentopt.rules.laws.habits import habitual_speed
from ascentopt.rules.laws.kick import kicked
from ascentopt.rules.laws.kick_table import LeanTable, lean_table
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.programme import Phase
from ascentopt.units import km


@checked
@dataclass(frozen=True, kw_only=True)
class AnyAltitudeRule(Rule):
    """As `AngleRule`, but the altitude is a number like the angle.

    It is for maps: which angle at 10 km, at which altitude 45 degrees? To tune it would be to tune
    `AngleRule`, since all of its flights are of one family, the kicks at the habitual speed.
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "flight-path angle at any altitude"

    @property
    def open(self) -> tuple[Open, ...]:
        """The altitude, and how far from the vertical the motion leans there."""
        altitude = Open(name="altitude of the angle", unit="m", low=0.1 * km, high=500.0 * km)
        return (altitude, *AngleRule().open)

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """45 degrees near 10 km, or where the air is as dense."""
        return (habitual_altitude(pad.mission.body), *AngleRule().habitual(pad))

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Those of the kick that leads there."""
        return AngleRule(altitude=values[0]).steps(values[1:], pad)

    def along(self, pad: Pad, first: tuple[float, ...], last: tuple[float, ...]) -> Rule:
        """With the kicks that lead to some of the leans tabulated."""
        return TabulatedLean(table=lean_table(first[0], pad, last))


@dataclass(frozen=True, eq=False, kw_only=True)
class TabulatedLean(AnyAltitudeRule):
    """The same at one altitude, the kick looked up where the table is sure of it."""

    table: LeanTable

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Those of the kick that leads there."""
        table, (altitude, lean) = self.table, values
        if (altitude, pad.heading) == (table.altitude, table.heading):
            kick = table.kick(lean)
            if kick is not None:
                return kicked(habitual_speed(pad.mission.body), kick, pad)
        return super().steps(values, pad)

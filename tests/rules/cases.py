"""Rules with numbers that lead into the orbit, for several vehicles and bodies."""

from __future__ import annotations

from dataclasses import dataclass, replace

import ascentopt as ao
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.insertion.ways import Circularise, LinearTangentInsertion
from ascentopt.rules.laws.angle_at_altitude import AngleRule
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.rules.laws.rule import Rule
from ascentopt.scenarios.vehicles import AVOCET, CURLEW, RUFF
from ascentopt.units import deg, km
from tests.launchers import KNOT, LEDGE

KICK, ANGLE, RATE = KickRule(), AngleRule(), PitchRateRule()
CIRCLE, TANGENT = Circularise(), LinearTangentInsertion()


@dataclass(frozen=True, kw_only=True)
class Case:
    """A rule and its numbers on a mission."""

    vehicle: ao.Vehicle
    mission: ao.Mission
    rule: Rule
    insertion: Insertion
    values: tuple[float, ...]

    def __str__(self) -> str:
        return f"{self.vehicle.name}, {self.rule.name}, {self.insertion.name}"

    @property
    def flight(self) -> RuleFlight:
        """Without its numbers."""
        return RuleFlight(
            vehicle=self.vehicle, mission=self.mission, rule=self.rule, insertion=self.insertion
        )


def _earth(inclination: float | None = None, latitude: float = -12 * deg) -> ao.Mission:
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=latitude, altitude=40.0),
        orbit=ao.CircularOrbit(altitude=250 * km, inclination=inclination),
    )


def _cases(
    vehicle: ao.Vehicle,
    mission: ao.Mission,
    *numbers: tuple[Rule, Insertion, tuple[float, ...]],
) -> tuple[Case, ...]:
    return tuple(
        Case(vehicle=vehicle, mission=mission, rule=rule, insertion=insertion, values=values)
        for rule, insertion, values in numbers
    )


SMALL_PLANET = _cases(
    KNOT,
    LEDGE,
    (KICK, CIRCLE, (61.0, 14.5 * deg)),
    (ANGLE, CIRCLE, (47 * deg,)),
    (RATE, CIRCLE, (19.0, 0.8 * deg)),
    (KICK, TANGENT, (50.0, 4 * deg)),
    (ANGLE, TANGENT, (21 * deg,)),
    (RATE, TANGENT, (25.0, 0.42 * deg)),
)
INCLINED = _cases(
    CURLEW,
    _earth(65 * deg, 45 * deg),
    (KICK, CIRCLE, (44.0, 12 * deg)),
    (ANGLE, CIRCLE, (48 * deg,)),
    (RATE, CIRCLE, (14.0, 0.66 * deg)),
    (KICK, TANGENT, (53.0, 8 * deg)),
)
BOOSTERS = _cases(
    AVOCET, _earth(), (KICK, TANGENT, (44.0, 5 * deg)), (RATE, TANGENT, (14.0, 0.425 * deg))
)
SOLID = _cases(
    RUFF,
    _earth(),
    (ANGLE, TANGENT, (19.3 * deg,)),
    (KICK, TANGENT, (36.0, 16.2 * deg)),
    (RATE, CIRCLE, (52.2, 0.877 * deg)),
)
TURNED = _cases(
    KNOT,
    replace(LEDGE, orbit=ao.CircularOrbit(altitude=90 * km, inclination=40 * deg)),
    (RATE, CIRCLE, (19.0, 0.8 * deg)),
)

ALL = (*SMALL_PLANET, *INCLINED, *BOOSTERS, *SOLID, *TURNED)

"""What the vehicle must not exceed in flight."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi

from ascentopt.arguments import checked
from ascentopt.mission.sensible import ANGLE_OF_ATTACK, PITCH_RATE, Q_ALPHA
from ascentopt.tables import in_a_line
from ascentopt.units import STANDARD_GRAVITY, deg, kPa
from ascentopt.validation import positive, require

DEFAULT_Q_ALPHA = 150 * kPa * deg
"""Pa rad. Common practice, no source: a few thousand psf deg is what slender launchers bear."""


@checked
@dataclass(frozen=True, kw_only=True)
class FlightLimits:
    """Upper limits in flight; None = no limit.

    `dynamic_pressure` Pa; `staging_dynamic_pressure` Pa at separations; `angle_of_attack` rad;
    `q_alpha` Pa rad, dynamic pressure times angle of attack; `axial_acceleration` m/s^2, thrust
    and drag along the axis per mass; `pitch_rate` rad/s. Raises `InputError`.

    The limit on `angle_of_attack` fades out where the dynamic pressure q is low, since the air does
    nothing there whatever the angle, and on the pad, or in a near vacuum, the angle says nothing:
    what is limited is alpha^2 (1 - exp(-(q / 200 Pa)^2)). That allows 1.26 times the limit at
    200 Pa, twice at 100 Pa, and the limit to 1 % from 400 Pa on; a flight is measured against it
    above 1000 Pa. During the vertical rise thrust points up whatever the wind: neither this limit
    nor that on `q_alpha` acts there, and a flight that breaks them in a gale is told so.

    `q_alpha` alone has a limit by default, 150 kPa deg. Without one, a limit on dynamic pressure is
    met by flying sideways through the air, which no structure bears.
    """

    dynamic_pressure: float | None = None
    staging_dynamic_pressure: float | None = None
    angle_of_attack: float | None = None
    q_alpha: float | None = DEFAULT_Q_ALPHA
    axial_acceleration: float | None = None
    pitch_rate: float | None = None

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        for name, unit in _UNITS.items():
            value = getattr(self, name)
            if value is not None:
                fix = f"Give it in {unit}, or None for no limit."
                positive("FlightLimits", name, value, unit, fix)
        if self.angle_of_attack is not None:
            fix = "Give radians, for instance 6 * deg, or None for no limit."
            good = self.angle_of_attack <= pi
            if not good:
                fix = f"It looks like degrees: write {self.angle_of_attack:g} * deg. {fix}"
            require(
                "FlightLimits",
                "angle_of_attack",
                self.angle_of_attack,
                "rad",
                "at most pi",
                fix,
                holds=good,
            )
        for name, sense in _SENSES.items():
            if getattr(self, name) is not None:
                sense.check("FlightLimits", name, getattr(self, name))

    @classmethod
    def none(cls) -> FlightLimits:
        """Return no limits at all, not even the one on dynamic pressure times angle of attack."""
        return cls(q_alpha=None)

    def __str__(self) -> str:
        given = {f.name: getattr(self, f.name) for f in fields(self)}
        shown = [
            f"{name.replace('_', ' ')} {value / SCALES[name][0]:.4g} {SCALES[name][1]}"
            for name, value in given.items()
            if value is not None
        ]
        return ", ".join(shown) or "no limits"


_UNITS = {
    "dynamic_pressure": "Pa",
    "staging_dynamic_pressure": "Pa",
    "angle_of_attack": "rad",
    "q_alpha": "Pa rad",
    "axial_acceleration": "m/s^2",
    "pitch_rate": "rad/s",
}

_SENSES = {"angle_of_attack": ANGLE_OF_ATTACK, "q_alpha": Q_ALPHA, "pitch_rate": PITCH_RATE}

SCALES = {
    "dynamic_pressure": (kPa, "kPa"),
    "staging_dynamic_pressure": (kPa, "kPa"),
    "angle_of_attack": (deg, "deg"),
    "q_alpha": (kPa * deg, "kPa deg"),
    "axial_acceleration": (STANDARD_GRAVITY, "g"),
    "pitch_rate": (deg, "deg/s"),
}
"""What people quote each limit in: its size in SI, and its name."""

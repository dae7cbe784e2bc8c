"""Propellant that must be left after the insertion."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.mission.sensible import ALLOWANCE
from ascentopt.units import km
from ascentopt.validation import finite, not_negative, positive


@checked
@dataclass(frozen=True, kw_only=True)
class PropellantReserve:
    """A `mass` of propellant in kg that the inserting stage must keep. Raises `InputError`."""

    mass: float

    def __post_init__(self) -> None:
        positive("PropellantReserve", "mass", self.mass, "kg", "Give kilograms, or no reserve.")

    def __str__(self) -> str:
        return f"{self.mass:g} kg of propellant"


@checked
@dataclass(frozen=True, kw_only=True)
class DeorbitReserve:
    """What the inserting stage needs to come down again, with one more of its restarts.

    Args:
        periapsis_altitude: m above the equatorial radius to which the burn against the motion
            lowers the orbit.
        with_payload: whether the payload comes down with the stage, or stays in orbit.
        allowance: part of the impulsive delta-v kept on top of it, for the length of the burn and
            for errors. 5 per cent is common practice, no source.

    Raises:
        InputError: for numbers that are not finite, or a negative allowance.
    """

    periapsis_altitude: float
    with_payload: bool = True
    allowance: float = 0.05

    def __post_init__(self) -> None:
        fix = "Give metres above the equatorial radius, for instance 50 * km on Earth."
        finite("DeorbitReserve", "periapsis_altitude", self.periapsis_altitude, "m", fix)
        fix = "Give a fraction, such as 0.05."
        not_negative("DeorbitReserve", "allowance", self.allowance, "", fix)
        ALLOWANCE.check("DeorbitReserve", "allowance", self.allowance)

    def __str__(self) -> str:
        what = "with the payload" if self.with_payload else "without the payload"
        return f"deorbit to a periapsis of {self.periapsis_altitude / km:g} km {what}"


Reserve = PropellantReserve | DeorbitReserve

"""Air on the ground: what makes its pressure, of which two of three numbers are enough."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.units import STANDARD_GRAVITY
from ascentopt.validation import positive, require

DRY_AIR = 287.05287
"""J/(kg K), gas constant of dry air: ICAO Doc 7488 (from memory)."""


@dataclass(frozen=True, kw_only=True)
class GroundAir:
    """What is known of it, None for what is not: gravity m/s^2, temperature K, J/(kg K)."""

    gravity: float | None
    temperature: float | None
    gas_constant: float | None

    def column_and_warmth(self, owner: str, scale_height: float) -> tuple[float, float]:
        """Pressure over density in J/kg, and kelvins.

        In equilibrium the first is gravity times the scale height; of a temperature alone it is
        that times the gas constant. Raises `InputError` where all three are given, or one is not
        positive.
        """
        self._check(owner)
        gas = self.gas_constant or DRY_AIR
        if self.temperature is not None and self.gravity is None:
            return gas * self.temperature, self.temperature
        column = (STANDARD_GRAVITY if self.gravity is None else self.gravity) * scale_height
        return column, column / gas if self.temperature is None else self.temperature

    def _check(self, owner: str) -> None:
        for name, value, unit in (
            ("surface_gravity", self.gravity, "m/s^2"),
            ("surface_temperature", self.temperature, "K"),
            ("gas_constant", self.gas_constant, "J/(kg K)"),
        ):
            if value is not None:
                positive(owner, name, value, unit, "Give it in SI, or leave it out.")
        fix = "Leave it out, or give two of the three at most."
        rule = "left out beside a gravity and a temperature, from which it follows"
        holds = None in (self.gravity, self.temperature, self.gas_constant)
        require(owner, "gas_constant", self.gas_constant, "J/(kg K)", rule, fix, holds=holds)

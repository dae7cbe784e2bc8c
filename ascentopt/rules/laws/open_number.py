"""A number that a rule of thumb leaves open, and between which values it is sought."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.rules.laws.parameter import Parameter


@dataclass(frozen=True, kw_only=True)
class Open:
    """A number that a rule leaves open.

    Args:
        name: as a person says it.
        unit: "rad", "rad/s", "m", "m/s" or "s".
        low, high: between which it is sought, positive, in `unit`.
    """

    name: str
    unit: str
    low: float
    high: float

    def valued(self, value: float) -> Parameter:
        """With a value."""
        return Parameter(name=self.name, value=value, unit=self.unit)

"""A number that a rule of thumb leaves open: its name, value and unit."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.tables import in_a_line
from ascentopt.units import deg, km

_SHOWN = {"rad": (deg, "deg"), "rad/s": (deg, "deg/s"), "m": (km, "km")}


@checked
@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One number of a rule, in SI units.

    Args:
        name: as a person says it, for instance "kick angle".
        value: in `unit`.
        unit: "rad", "rad/s", "m", "m/s" or "s"; empty for a number without a dimension.
        fixed: whether the rule leaves it no range to be tuned in.
        at_bound: whether it stands at an end of its range, beyond which there may be better.
    """

    name: str
    value: float
    unit: str
    fixed: bool = False
    at_bound: bool = False

    __repr__ = in_a_line

    @property
    def shown(self) -> tuple[float, str]:
        """Value and unit as people read them: degrees and kilometres."""
        size, unit = _SHOWN.get(self.unit, (1.0, self.unit))
        return self.value / size, unit

    def __str__(self) -> str:
        value, unit = self.shown
        told = f"{self.name} {value:.4g} {unit}".rstrip()
        note = " (fixed)" if self.fixed else " (at its bound)" if self.at_bound else ""
        return told + note

"""A limit beside what a flight makes of it."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.persistence import Result
from ascentopt.tables import one_line
from ascentopt.units import STANDARD_GRAVITY, deg, kPa

CERTIFIED_EXCESS = 1e-2
"""Share of a limit by which a certified flight may pass it between the nodes."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Excess(Result):
    """A limit beside what a flight makes of it.

    Args:
        name: of the limit, as in `FlightLimits`, with spaces, or `PAYLOAD_HEATING`.
        peak, limit: in `unit`.
        unit: SI.
    """

    name: str
    peak: float
    limit: float
    unit: str

    @property
    def share(self) -> float:
        """By which the limit is exceeded; negative where it is kept."""
        return self.peak / self.limit - 1.0

    @property
    def in_words(self) -> str:
        """Whether the limit is broken, or passed by no more than a certificate allows."""
        if self.share > CERTIFIED_EXCESS:
            return f"breaks the limit: {self}"
        return (
            f"at the limit: {self}, passed by {100.0 * self.share:.1f} % (a certified flight may "
            f"by {100.0 * CERTIFIED_EXCESS:.0f} %)"
        )

    def __repr__(self) -> str:
        return one_line(self, self)

    def __str__(self) -> str:
        size, unit = _SHOWN[self.unit]
        return f"{self.name} {self.peak / size:.4g} {unit}, limit {self.limit / size:.4g} {unit}"


_SHOWN = {
    "Pa": (kPa, "kPa"),
    "Pa rad": (kPa * deg, "kPa deg"),
    "rad": (deg, "deg"),
    "rad/s": (deg, "deg/s"),
    "m/s^2": (STANDARD_GRAVITY, "g"),
    "W/m^2": (1.0, "W/m2"),
}

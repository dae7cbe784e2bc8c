"""What became of a flight: whether it is in the orbit asked for, and what there is to say of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf, pi

from ascentopt.arguments import checked_kinds
from ascentopt.flight.results.excess import Excess
from ascentopt.persistence import Result
from ascentopt.tables import one_line
from ascentopt.units import deg, in_places, km, signed

_NEAR = 0.01  # of the altitude of the orbit, by which its apsides may be missed
_NEAR_LEAST = 1.0 * km
_NEAR_ANGLE = 0.1 * deg
"""What still counts as the orbit asked for (common practice, no source); a miss is always told."""


@dataclass(frozen=True, kw_only=True, eq=False)
class OrbitMiss(Result):
    """By how much an orbit misses one element of what was asked for: m, rad, or without a unit."""

    name: str
    asked: float
    got: float
    unit: str

    @property
    def miss(self) -> float:
        """What is too much; angles by the shorter way round."""
        by = self.got - self.asked
        return (by + pi) % (2.0 * pi) - pi if self.unit == "rad" else by

    @property
    def near(self) -> bool:
        """Whether it is so small that it is still the orbit that was asked for."""
        if self.unit == "rad":
            return abs(self.miss) <= _NEAR_ANGLE
        if self.unit == "m":
            return abs(self.miss) <= max(_NEAR * abs(self.asked), _NEAR_LEAST)
        return abs(self.miss) <= _NEAR

    def __repr__(self) -> str:
        return one_line(self, self)

    def __str__(self) -> str:
        size, unit, digits = {"m": (km, " km", 3), "rad": (deg, " deg", 3)}.get(
            self.unit, (1.0, "", 5)
        )
        return f"{self.name} by {signed(self.miss / size, digits)}{unit}"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Verdict(Result):
    """What became of a flight that was flown to its end.

    Args:
        asked: the orbit asked for, in words.
        periapsis, apoapsis: altitudes in m above the equatorial radius; infinite on an open orbit.
        inclination: rad.
        floor: altitude in m that an orbit must stay above: the ceiling of the air, or the ground.
        misses: of each element that was asked for.
        propellant_left: kg, beyond the reserve; negative where that was drawn on.
        broken: limits that were exceeded.
        fairing_kept: whether there is a fairing, and it was never dropped.
    """

    asked: str
    periapsis: float
    apoapsis: float
    inclination: float
    floor: float
    misses: tuple[OrbitMiss, ...]
    propellant_left: float
    broken: tuple[Excess, ...]
    fairing_kept: bool

    @property
    def in_orbit(self) -> bool:
        """Whether it goes round and stays above the ground and the air."""
        return self.periapsis > self.floor - _NEAR_LEAST and not isinf(self.apoapsis)

    @property
    def as_asked(self) -> bool:
        """Whether it is in the orbit asked for."""
        return self.in_orbit and all(one.near for one in self.misses)

    @property
    def apsides(self) -> str:
        """Periapsis x apoapsis, and inclination."""
        high = "an open orbit" if isinf(self.apoapsis) else f"{self.apoapsis / km:.1f} km"
        return f"{self.periapsis / km:.1f} x {high}, inclination {self.inclination / deg:.2f} deg"

    def __repr__(self) -> str:
        return one_line(self, self._outcome)

    def __str__(self) -> str:
        lines = [self._outcome]
        if self.misses:
            lines.append("misses " + ", ".join(map(str, self.misses)))
        lines.append(f"propellant left {in_places(self.propellant_left, 1)} kg")
        lines += [excess.in_words for excess in self.broken]
        if self.fairing_kept:
            lines.append("the fairing stays on: the payload is still under it")
        return "\n".join([lines[0], *(f"  {line}" for line in lines[1:])])

    @property
    def _outcome(self) -> str:
        if self.as_asked:
            return f"in the orbit asked for, {self.asked}: {self.apsides}"
        if self.in_orbit:
            return f"in another orbit than asked for, {self.asked}: {self.apsides}"
        if isinf(self.apoapsis):
            return f"escaping, not in orbit: {self.apsides}; asked for {self.asked}"
        why = "comes down" if self.periapsis < 0.0 else "dips into the air"
        return f"not in orbit, it {why}: {self.apsides}; asked for {self.asked}"


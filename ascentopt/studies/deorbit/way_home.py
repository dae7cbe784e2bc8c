"""What a way home takes and where it ends."""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import Any, ClassVar

from ascentopt.arguments import checked_kinds
from ascentopt.flight.orbit.orbiting import OrbitingStage
from ascentopt.flight.results.flight import Flight
from ascentopt.optimal.result.ascent import CAUTION
from ascentopt.persistence import Result, SavedResult
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.units import deg, km

_ENTRY = (
    ("entry_altitude", "m"), ("fall_time", "s"), ("entry_speed", "m/s"),
    ("entry_flight_path_angle", "rad"), ("entry_air_speed", "m/s"),
    ("entry_air_flight_path_angle", "rad"), ("entry_mass", "kg"), ("entry_latitude", "rad"),
    ("entry_longitude", "rad"),
)  # fmt: skip
"""Columns for the fields of an `Entry`, in order."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Entry(Result):
    """Where a way home ends: at the ceiling of the air, or on the ground of an airless body.

    Args:
        altitude: m above the ellipsoid; zero on an airless body.
        fall_time: s since the burn's cut-off.
        speed, flight_path_angle: inertial, m/s and rad above the horizontal (negative).
        air_speed, air_flight_path_angle: relative to the air, or the ground, that turns.
        mass: kg.
        latitude, longitude: rad, geodetic, as those of `LaunchSite`.
    """

    altitude: float
    fall_time: float
    speed: float
    flight_path_angle: float
    air_speed: float
    air_flight_path_angle: float
    mass: float
    latitude: float
    longitude: float

    def __repr__(self) -> str:
        where = f"{self.latitude / deg:.2f} deg, {self.longitude / deg:.2f} deg"
        return one_line(self, where, _motion(self.speed, self.flight_path_angle).strip())


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Deorbit(SavedResult, Tabular):
    """A burn against the motion that lowers the periapsis, and the way down to air or ground.

    The burn is flown at full thrust by the independent simulator, and so is the way down. Where
    the propellant does not suffice, what is flown is the stage with just enough of it aboard.

    Args:
        start: the stage in orbit.
        with_payload: whether the payload comes down too; else it stays in orbit before the burn.
        periapsis_altitude: of the osculating orbit at cut-off, m above the equatorial radius.
        coast: s from the start to the burn.
        delta_v: m/s of the burn as flown, the integral of thrust per mass.
        impulsive_delta_v: m/s that one impulse would take off (vis-viva): at ignition, or at the
            apoapsis where the burn is laid around that.
        propellant: kg that the burn takes, at the mass that it begins with.
        entry: speed, angle, time and place where the air, or the ground, is met.
        flight: all of it against time.
    """

    start: OrbitingStage
    with_payload: bool
    periapsis_altitude: float
    coast: float
    delta_v: float
    impulsive_delta_v: float
    propellant: float
    entry: Entry
    flight: Flight

    _form: ClassVar = "deorbit"
    _version: ClassVar = 2
    _unsigned: ClassVar = 1

    @property
    def burn_time(self) -> float:
        """Length of the burn, s."""
        return self.flight.ends[1].time - self.flight.ends[0].time

    @property
    def propellant_margin(self) -> float:
        """Propellant aboard less what the burn takes, kg; negative when it does not suffice."""
        return self.start.propellant - self.propellant

    @property
    def suffices(self) -> bool:
        """Whether the propellant aboard is enough."""
        return self.propellant_margin >= 0.0

    @property
    def missing_propellant(self) -> float:
        """How much more would have to be aboard, kg; zero when there is enough."""
        return max(-self.propellant_margin, 0.0)

    def to_table(self) -> Table:
        """One row: the burn, what it takes, and the entry."""
        own = (
            ("stage", ""), ("with_payload", ""), ("periapsis_altitude", "m"), ("coast", "s"),
            ("burn_time", "s"), ("delta_v", "m/s"), ("impulsive_delta_v", "m/s"),
            ("propellant", "kg"), ("propellant_margin", "kg"),
        )  # fmt: skip
        row = (
            self.start.name, self.with_payload, self.periapsis_altitude, self.coast,
            self.burn_time, self.delta_v, self.impulsive_delta_v, self.propellant,
            self.propellant_margin,
        )  # fmt: skip
        return Table.of("deorbit", [*own, *_ENTRY], [(*row, *astuple(self.entry))])

    def _repr_html_(self) -> str:
        first, *lines = [*self._burn_lines(), *self._entry_lines(), CAUTION]
        return page(first, lines, [self.flight.events.to_table()])

    def __repr__(self) -> str:
        burn = f"{self.delta_v:.2f} m/s", f"{self.propellant:.2f} kg needed"
        return one_line(self, self.start.name, *burn, "enough" if self.suffices else "not enough")

    def __str__(self) -> str:
        return "\n".join([*self._burn_lines(), *self._entry_lines(), "", CAUTION])

    def _burn_lines(self) -> list[str]:
        body, orbit = self.start.body, self.start.orbit
        low, high = (r - body.radius for r in (orbit.periapsis_radius, orbit.apoapsis_radius))
        what = "everything comes down" if self.with_payload else "the payload stays in orbit"
        verdict = f"enough, {self.propellant_margin:.2f} kg to spare"
        if not self.suffices:
            verdict = f"not enough, {self.missing_propellant:.2f} kg are missing"
        return [
            (
                f"{self.start.name}: deorbit from {low / km:.1f} x {high / km:.1f} km of "
                f"{body.name}, {what}"
            ),
            (
                f"  periapsis to {self.periapsis_altitude / km:g} km by {self.delta_v:.2f} m/s "
                f"(one impulse: {self.impulsive_delta_v:.2f} m/s)"
            ),
            f"  burn of {self.burn_time:.2f} s after a coast of {self.coast:.2f} s",
            (
                f"  propellant needed {self.propellant:.2f} kg, left "
                f"{self.start.propellant:.2f} kg: {verdict}"
            ),
        ]

    def _entry_lines(self) -> list[str]:
        entry, airy = self.entry, self.start.body.atmosphere is not None
        where = f"ceiling at {entry.altitude / km:.6g} km" if airy else "ground"
        to_air = "to the air" if airy else "to the ground"
        return [
            (
                f"  {where} {entry.fall_time:.1f} s after cut-off with {entry.mass:.2f} kg "
                f"at latitude {entry.latitude / deg:.2f} deg, longitude "
                f"{entry.longitude / deg:.2f} deg"
            ),
            f"    {'inertial':14}{_motion(entry.speed, entry.flight_path_angle)}",
            f"    {to_air:14}{_motion(entry.air_speed, entry.air_flight_path_angle)}",
        ]

    @classmethod
    def _amended(cls, data: dict[str, Any]) -> dict[str, Any]:
        """Version 1 held it all as one object."""
        if data["version"] > 1:
            return data
        whole = data.get("deorbit")
        own = whole.get("fields") if isinstance(whole, dict) else None
        return dict(own) if isinstance(own, dict) else data


def _motion(speed: float, angle: float) -> str:
    return f"{speed:10.2f} m/s at {angle / deg:7.3f} deg"

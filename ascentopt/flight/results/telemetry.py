"""The quantities that people read off a flight, evaluated at many points at once."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from functools import lru_cache
from math import pi
from typing import overload

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.forces import SLOWEST, Forces, Instant, forces
from ascentopt.flight.dynamics.local_frame import local_axes
from ascentopt.flight.dynamics.state import PACKED, unpacked
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.typing import Expr, Floats
from ascentopt.world.body import Body

PLUMB = 1e-9
"""rad. A thrust that leans less than this from the vertical has no heading."""

_ROUNDING = 1e-12
"""rad."""


class Column:
    """A quantity that `Readings` hold at every point: its unit and what it means."""

    def __init__(self, unit: str, meaning: str) -> None:
        self.unit = unit
        self.__doc__ = f"{meaning}, {unit}." if unit else f"{meaning}."

    def __set_name__(self, owner: type[Readings], name: str) -> None:
        self.name = name

    @overload
    def __get__(self, readings: None, owner: type[Readings]) -> Column: ...
    @overload
    def __get__(self, readings: Readings, owner: type[Readings]) -> Floats: ...
    def __get__(self, readings: Readings | None, owner: type[Readings]) -> Column | Floats:
        if readings is None:
            return self
        return readings.table[..., COLUMNS.index(self)]


class Readings(ABC):
    """Columns of numbers against time.

    `table` is (k, n) for k points, or (n,) for one: a column is then an array (k,) or a number. A
    quantity that has no meaning is nan: the Mach number without air, and angles of the axis while
    no engine says where it points.
    """

    @property
    @abstractmethod
    def table(self) -> Floats:
        """(..., n) the columns in the order of `COLUMNS`."""

    time = Column("s", "Clock since lift-off")
    altitude = Column("m", "Height above the ellipsoid")
    downrange = Column("m", "Distance from the site along the sphere, which turns with the body")
    speed = Column("m/s", "Inertial speed")
    air_speed = Column("m/s", "Speed relative to the air")
    vertical_speed = Column("m/s", "Rate of climb along the local vertical")
    flight_path_angle = Column("rad", "Inertial velocity above the local horizontal")
    air_flight_path_angle = Column("rad", "Air-relative velocity above the local horizontal")
    pitch = Column("rad", "Thrust above the local horizontal")
    heading = Column("rad", "Thrust from north, clockwise")
    angle_of_attack = Column("rad", "Angle between thrust and air-relative velocity")
    mass = Column("kg", "Mass")
    throttle = Column("", "Fraction of full thrust of the core")
    thrust = Column("N", "Thrust less the loss to back-pressure")
    mass_flow = Column("kg/s", "Propellant flow")
    dynamic_pressure = Column("Pa", "Half rho v^2")
    mach = Column("", "Mach number")
    q_alpha = Column("Pa rad", "Dynamic pressure times angle of attack")
    axial_acceleration = Column("m/s^2", "What an accelerometer along the axis reads")
    heating = Column("W/m^2", "Free-molecular heating, half rho v^3")
    gravity = Column("m/s^2", "Magnitude of gravity")

    @staticmethod
    def of(table: Floats) -> Readings:
        """Readings that are a table."""
        return _Points(table)


class _Points(Readings):
    def __init__(self, table: Floats) -> None:
        self._table = table

    @property
    def table(self) -> Floats:
        return self._table


COLUMNS: tuple[Column, ...] = tuple(c for c in vars(Readings).values() if isinstance(c, Column))
"""All columns in the order of `Readings.table`."""


def read(
    kind: ArcKind,
    numbers: Sequence[float],
    site: Sequence[float],
    start: float,
    samples: Floats,
) -> Floats:
    """Table (k, n) of an arc from samples (k, 12).

    A row of the samples holds time, state (7), thrust direction (3) and throttle; `start` is when
    the arc began and `site` (3) where the site stood at time zero, m.
    """
    packed = np.array([samples[:, 0], samples[:, 0] - start, *samples[:, 1:].T])
    found = _function(kind)(packed, np.array(numbers), np.array(site))
    return np.array(found, dtype=float).T.reshape(len(samples), len(COLUMNS))


@lru_cache(maxsize=128)
def _function(kind: ArcKind) -> ca.Function:
    """From time, elapsed, state, direction and throttle (13), numbers and site to the columns."""
    x, numbers, site = ca.SX.sym("x", PACKED), ca.SX.sym("p", len(kind.numbers)), ca.SX.sym("s", 3)
    found = _columns(kind, forces(kind, unpacked(x, numbers)), site)
    row = ca.vertcat(*(found[column.name] for column in COLUMNS))
    return ca.Function("telemetry", [x, numbers, site], [ca.cse(row)])


def _columns(kind: ArcKind, now: Forces, site: Expr) -> dict[str, Expr]:
    instant, air = now.instant, now.air
    attack = _attack(kind, now)
    return {
        "time": instant.time,
        "altitude": now.altitude,
        "downrange": _downrange(kind.body, instant, site),
        "speed": ca.norm_2(instant.velocity),
        "air_speed": ca.norm_2(now.air_velocity),
        "vertical_speed": ca.dot(instant.velocity, now.up),
        "flight_path_angle": _above_horizon(instant.velocity, now.up),
        "air_flight_path_angle": _above_horizon(_moving(now), now.up),
        "pitch": _if_powered(kind, _above_horizon(now.direction, now.up)),
        "heading": _if_powered(kind, _heading(kind.body, now)),
        "angle_of_attack": attack,
        "mass": instant.mass,
        "throttle": instant.throttle,
        "thrust": now.thrust,
        "mass_flow": now.mass_flow,
        "dynamic_pressure": now.dynamic_pressure,
        "mach": now.air_speed / air.speed_of_sound if air is not None else ca.SX.nan(),
        "q_alpha": now.dynamic_pressure * attack,
        "axial_acceleration": now.axial_acceleration,
        "heating": now.heating,
        "gravity": ca.norm_2(now.gravity),
    }


def _if_powered(kind: ArcKind, angle: Expr) -> Expr:
    return ca.SX.nan() if kind.guidance is Guidance.COAST else angle


def _still(now: Forces) -> Expr:
    """Whether the vehicle stands in the air: its velocity there is rounding error."""
    return ca.sumsqr(now.air_velocity) < SLOWEST**2


def _moving(now: Forces) -> Expr:
    """(3) air-relative velocity, or the vertical where there is none: a rise begins upwards."""
    return ca.if_else(_still(now), now.up, now.air_velocity)


def _above_horizon(vector: Expr, up: Expr) -> Expr:
    along = ca.dot(vector, up)
    return ca.atan2(along, ca.norm_2(vector - along * up))


def _heading(body: Body, now: Forces) -> Expr:
    """From north, clockwise, 0 to 2 pi; zero for a vertical thrust."""
    _, east, north = local_axes(body, now.instant.position)
    x, y = ca.dot(now.direction, north), ca.dot(now.direction, east)
    angle = ca.atan2(y, x)
    # North is 0, not 2 pi, also where rounding makes it a little less.
    angle = ca.if_else(angle < -_ROUNDING, angle + 2.0 * pi, ca.fmax(angle, 0.0))
    return ca.if_else(x**2 + y**2 < PLUMB**2, 0.0, angle)


def _attack(kind: ArcKind, now: Forces) -> Expr:
    if kind.guidance is Guidance.COAST:
        return ca.SX.nan()
    wind = now.air_velocity
    across = ca.norm_2(ca.cross(now.direction, wind))
    angle = ca.atan2(across, ca.dot(now.direction, wind))
    return ca.if_else(_still(now), 0.0, angle)


def _downrange(body: Body, instant: Instant, site: Expr) -> Expr:
    """Angle at the centre between vehicle and site, times the equatorial radius."""
    turned = body.rotation_rate * instant.time
    cosine, sine = ca.cos(turned), ca.sin(turned)
    there = ca.vertcat(
        cosine * site[0] - sine * site[1], sine * site[0] + cosine * site[1], site[2]
    )
    across = ca.norm_2(ca.cross(there, instant.position))
    return body.radius * ca.atan2(across, ca.dot(there, instant.position))

"""What became of each of many flights, as arrays over the draws."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from typing import Any

import numpy as np

from ascentopt.tables import in_a_line
from ascentopt.typing import Floats


class End(IntEnum):
    """Why a flight ended."""

    IN_ORBIT = 0
    """Guidance cut off the last burn where the orbit asked for was reached.

    A last stage that cannot be cut off, since it is a solid motor, ended above ground and air."""

    SHORT = 1
    """The last burn ran out of propellant before that, or a solid motor left the orbit too low.

    What is missing is told."""

    FELL = 2
    """It came down to the ground on the way, and was over there."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Loads:
    """Greatest loads of N flights.

    Args:
        dynamic_pressure: (N,) Pa.
        q_alpha: (N,) Pa rad, while something burns.
        axial_acceleration: (N,) m/s^2.
        heating: (N,) W/m^2 of the payload without its fairing; 0 where that stays on or was never
            carried through air.
    """

    dynamic_pressure: Floats
    q_alpha: Floats
    axial_acceleration: Floats
    heating: Floats

    __repr__ = in_a_line


@dataclass(frozen=True, kw_only=True, eq=False)
class Misses:
    """What the ends of N flights have too much for the orbit, as positions and velocities.

    Against the place of the orbit asked for at the true anomaly of the flight's own orbit: where
    along an ellipse a flight ends is no miss. What the mission leaves free of size and shape is as
    planned; where the periapsis is placed its angle is not in it.

    Args:
        radius: (N,) m of distance from the centre.
        climb: (N,) m/s of speed away from the centre.
        speed: (N,) m/s of speed across the radius.
        out_of_plane: (N,) m from the plane asked for; 0 where that is free.
        drift: (N,) m/s out of that plane.
    """

    radius: Floats
    climb: Floats
    speed: Floats
    out_of_plane: Floats
    drift: Floats

    __repr__ = in_a_line

    @property
    def position(self) -> Floats:
        """(N,) m, all together."""
        return np.hypot(self.radius, self.out_of_plane)

    @property
    def velocity(self) -> Floats:
        """(N,) m/s, all together."""
        return np.asarray(np.sqrt(self.climb**2 + self.speed**2 + self.drift**2))


@dataclass(frozen=True, kw_only=True, eq=False)
class Track:
    """N flights at the ends of their steps of integration, M at most: for pictures.

    Rows of a flight that is over hold nan. Flights do not share their times: row k of two flights
    is the same step of the sequence of arcs, not the same second.

    Args:
        time: (M, N) s since lift-off.
        states: (M, N, 7) inertial position and velocity, and mass.
        altitude: (M, N) m above the ellipsoid.
    """

    time: Floats
    states: Floats
    altitude: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Outcomes:
    """What became of N flights.

    Args:
        end: (N,) values of `End`.
        time: (N,) s from lift-off to the last cut-off, or until it was over.
        propellant_left: (N,) kg beyond the reserve, with that of stages never lit, as
            `Ascent.propellant_margin`; never negative: 0 where the flight was short (apart from
            stages never lit). nan where it fell.
        missing_speed: (N,) m/s that guidance still wanted when the last burn ran dry, 0 where the
            orbit was reached; nan where it fell.
        missing_propellant: (N,) kg that the last stage would have burned for it. With it
            `margin = propellant_left - missing_propellant` is smooth through zero.
        misses: of the orbit.
        periapsis, apoapsis: (N,) m above the equatorial radius, osculating at the end; the apoapsis
            is infinite on an open orbit.
        inclination, ascending_node: (N,) rad, osculating at the end.
        loads: greatest ones.
        final_state: (N, 7) inertial position and velocity, and mass.
        arc_ends: (N, A) s at which each arc of the plan ended; nan for those not begun.
        handover: (N,) s at which guidance took over from the table; nan where it fell before.
        track: the flights at their steps where that was asked for, or None.
    """

    end: np.ndarray
    time: Floats
    propellant_left: Floats
    missing_speed: Floats
    missing_propellant: Floats
    misses: Misses
    periapsis: Floats
    apoapsis: Floats
    inclination: Floats
    ascending_node: Floats
    loads: Loads
    final_state: Floats
    arc_ends: Floats
    handover: Floats
    track: Track | None = None

    __repr__ = in_a_line

    @property
    def margin(self) -> Floats:
        """(N,) kg of propellant left, or minus what is missing."""
        return self.propellant_left - self.missing_propellant

    def __len__(self) -> int:
        return len(self.time)

    @classmethod
    def joined(cls, pieces: list[Outcomes]) -> Outcomes:
        """Of several, one after the other; tracks are left out."""
        joined: Outcomes = _joined([replace(piece, track=None) for piece in pieces])
        return joined


def _joined(values: list[Any]) -> Any:
    first = values[0]
    if first is None:
        return None
    if isinstance(first, np.ndarray):
        return np.concatenate(values)
    names = [one.name for one in fields(first)]
    return type(first)(**{name: _joined([getattr(one, name) for one in values]) for name in names})

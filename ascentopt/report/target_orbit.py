"""The orbit that a flight aims at, as curves beside the flight."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from ascentopt.mission import CircularOrbit
from ascentopt.mission.orbit import Orbit
from ascentopt.report.flown import Flown
from ascentopt.typing import Floats
from ascentopt.units import km
from ascentopt.world.body import Body
from ascentopt.world.orbital_elements import OrbitalElements

_SHOWN = 0.05 * km
"""A difference of altitudes that people are shown: half a tenth of a kilometre."""


@dataclass(frozen=True, kw_only=True)
class TargetOrbit:
    """The target in the plane of the flight; what the mission leaves free is as it was reached.

    Attributes:
        semi_latus_rectum: m.
        eccentricity: of the ellipse; zero for a circle.
        periapsis_angle: rad, flown around the centre since lift-off, at which the periapsis lies.
        text: what people call it.
    """

    semi_latus_rectum: float
    eccentricity: float
    periapsis_angle: float
    text: str

    @classmethod
    def of(cls, flown: Flown) -> TargetOrbit:
        """Of a flight's mission."""
        orbit, body = flown.mission.orbit, flown.mission.body
        reached = flown.orbit_at(flown.trajectory.final_state)
        axis, eccentricity = _size_and_shape(orbit, body, reached)
        end = float(swept(flown)[-1])
        anomaly = reached.true_anomaly if isfinite(reached.true_anomaly) else 0.0
        return cls(
            semi_latus_rectum=axis * (1.0 - eccentricity**2),
            eccentricity=eccentricity,
            periapsis_angle=end - anomaly,
            text=_text(orbit, body, axis, eccentricity),
        )

    def radius(self, angle: Floats) -> Floats:
        """Metres from the centre where the flight has gone (k,) rad around it."""
        ahead = np.cos(angle - self.periapsis_angle)
        return np.asarray(self.semi_latus_rectum / (1.0 + self.eccentricity * ahead))

    def altitude(self, flown: Flown) -> Floats:
        """(k,) m above the ground under each sample of the flight.

        The orbit's own altitudes count from the equatorial radius; away from the equator of an
        oblate body the ground lies lower.
        """
        ground = _radius(flown) - flown.trajectory.altitude
        return np.asarray(self.radius(swept(flown)) - ground)


def swept(flown: Flown) -> Floats:
    """(k,) angle in rad flown around the body's centre since lift-off, inertial."""
    places = flown.trajectory.states[:, :3]
    units = places / np.linalg.norm(places, axis=1, keepdims=True)
    steps = np.linalg.norm(np.diff(units, axis=0), axis=1)
    return np.concatenate(([0.0], np.cumsum(2.0 * np.arcsin(np.minimum(steps / 2.0, 1.0)))))


def lower_ground(flown: Flown) -> str:
    """Why the altitude at the end is not the orbit's; empty where the two are counted alike."""
    body = flown.mission.body
    ground = float(_radius(flown)[-1] - flown.trajectory.altitude[-1])
    if body.radius - ground < _SHOWN:
        return ""
    return (
        "Altitudes are above the ground, orbits above the equatorial radius: where the flight ends "
        f"the ground lies {(body.radius - ground) / km:.1f} km lower."
    )


def _radius(flown: Flown) -> Floats:
    return np.asarray(np.linalg.norm(flown.trajectory.states[:, :3], axis=1))


def _size_and_shape(orbit: Orbit, body: Body, reached: OrbitalElements) -> tuple[float, float]:
    """Semi-major axis in m and eccentricity; what is free is taken from the orbit reached."""
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    axis, shape = orbit.semi_major_axis_around(body), orbit.eccentricity_around(body)
    if axis is None and shape is None:
        low = reached.periapsis_radius if low is None else low
        high = reached.apoapsis_radius if high is None else high
        high = high if isfinite(high) else low  # a flight by hand may escape
        return 0.5 * (low + high), (high - low) / (high + low)
    return (
        reached.semi_major_axis if axis is None else axis,
        reached.eccentricity if shape is None else shape,
    )


def _text(orbit: Orbit, body: Body, axis: float, eccentricity: float) -> str:
    if isinstance(orbit, CircularOrbit):
        return f"target orbit, {orbit.altitude / km:g} km"
    low, high = (axis * (1.0 + side * eccentricity) - body.radius for side in (-1.0, 1.0))
    return f"target orbit, {round(low / km, 1):g} x {round(high / km, 1):g} km"

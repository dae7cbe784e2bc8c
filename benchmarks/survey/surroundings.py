"""Gravity, air and height around a body, for many flights at once, in NumPy alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Surroundings:
    """What acts on a vehicle besides its thrust. Arrays (n), vectors (n, 3)."""

    vehicle: Vehicle
    mission: Mission

    def gravity(self, r: Floats) -> Floats:
        """Acceleration (n, 3) in m/s^2, with the oblateness term."""
        body = self.mission.body
        distance = np.linalg.norm(r, axis=1)[:, None]
        strength = 1.5 * body.j2 * (body.radius / distance) ** 2
        sine = 5.0 * (r[:, 2:] / distance) ** 2
        factor = 1.0 + strength * (np.array([1.0, 1.0, 3.0]) - sine)
        pull: Floats = -body.gravitational_parameter / distance**3 * factor * r
        return pull

    def altitude(self, r: Floats) -> Floats:
        """Above the ellipsoid, to first order in the flattening: tens of metres off at most."""
        body = self.mission.body
        distance = np.linalg.norm(r, axis=1)
        surface = body.radius * (1.0 - body.flattening * (r[:, 2] / distance) ** 2)
        height: Floats = distance - surface
        return height

    def through_air(self, r: Floats, v: Floats) -> Floats:
        """Velocity (n, 3) in m/s relative to air that turns with the body."""
        relative: Floats = v - np.cross([0.0, 0.0, self.mission.body.rotation_rate], r)
        return relative

    def air(self, r: Floats, v: Floats) -> tuple[Floats, Floats]:
        """Ambient pressure (n) in Pa and drag (n, 3) in N."""
        air, shape = self.mission.body.atmosphere, self.vehicle.aerodynamics
        if air is None or shape is None:
            return np.zeros(len(r)), np.zeros_like(r)
        density, pressure, sound = air.state(self.altitude(r))
        relative = self.through_air(r, v)
        speed = np.linalg.norm(relative, axis=1)
        coefficient = shape.drag_coefficient_at(speed / sound)
        size = 0.5 * density * speed * shape.reference_area * coefficient
        return pressure, -size[:, None] * relative

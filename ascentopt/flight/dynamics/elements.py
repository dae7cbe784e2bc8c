"""Modified equinoctial elements: the coordinates of arcs in which a stage is in orbit.

Source: M. J. H. Walker, B. Ireland, J. Owens, "A set of modified equinoctial orbit elements",
Celestial Mechanics 36 (1985) 409-419 (with their errata).
"""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.typing import Expr, Floats

LEAST_NEARNESS = 1e-3
"""Of the semilatus rectum over the radius. Where it is zero the radius is infinite, and beyond it
the formulas give a flight on the planet's other side: without a bound coarse meshes step across.
This one is reached where a stage moves along the horizon with three hundredths of circular speed:
no orbit, but a fall."""


@dataclass(frozen=True)
class Elements:
    """p, f, g, h, k and the true longitude, about an axis along the pole or against it.

    Args:
        gravitational_parameter: of the body, m^3/s^2.
        retrograde: whether the axis points south. Elements are singular where the orbit's plane
            lies opposite to their own.
    """

    gravitational_parameter: float
    retrograde: bool = False

    names = (
        ("semilatus rectum", "m"),
        ("element f", ""),
        ("element g", ""),
        ("element h", ""),
        ("element k", ""),
        ("true longitude", "rad"),
    )
    angles = (5,)

    @property
    def _turn(self) -> ca.DM:
        return ca.DM([1.0, -1.0, -1.0]) if self.retrograde else ca.DM([1.0, 1.0, 1.0])

    def of(self, state: Expr) -> Expr:
        """Elements, then what else the state holds."""
        r, v = state[:3] * self._turn, state[3:6] * self._turn
        momentum = ca.cross(r, v)
        p = ca.sumsqr(momentum) / self.gravitational_parameter
        normal = momentum / ca.norm_2(momentum)
        h, k = -normal[1] / (1.0 + normal[2]), normal[0] / (1.0 + normal[2])
        east, north = _axes(h, k)
        shape = ca.cross(v, momentum) / self.gravitational_parameter - r / ca.norm_2(r)
        longitude = ca.atan2(ca.dot(r, north), ca.dot(r, east))
        found = (p, ca.dot(shape, east), ca.dot(shape, north), h, k, longitude)
        return ca.vertcat(*found, state[MASS:])

    def state(self, values: Expr) -> Expr:
        """Position and velocity, then what else there is."""
        p, f, g, h, k, longitude = (values[j] for j in range(MASS))
        east, north = _axes(h, k)
        c, s = ca.cos(longitude), ca.sin(longitude)
        position = p / (1.0 + f * c + g * s) * (c * east + s * north)
        speed = ca.sqrt(self.gravitational_parameter / p)
        velocity = speed * (-(g + s) * east + (f + c) * north)
        return ca.vertcat(position * self._turn, velocity * self._turn, values[MASS:])

    def nearness(self, values: Expr) -> Expr:
        """P / r, positive wherever there is an orbit."""
        return 1.0 + values[1] * ca.cos(values[5]) + values[2] * ca.sin(values[5])

    def rates(self, values: Expr, push: Expr) -> Expr:
        """(6,) time derivatives under (3,) m/s^2 of what is not the pull of a sphere."""
        p, f, g, h, k, longitude = (values[j] for j in range(MASS))
        east, north = _axes(h, k)
        c, s = ca.cos(longitude), ca.sin(longitude)
        a = push * self._turn
        x, y, z = ca.dot(a, east), ca.dot(a, north), ca.dot(a, ca.cross(east, north))
        radial, along = c * x + s * y, c * y - s * x
        w, lean = 1.0 + f * c + g * s, h * s - k * c
        slow = ca.sqrt(p / self.gravitational_parameter)
        tilt = 0.5 * slow * (1.0 + h**2 + k**2) * z / w
        return ca.vertcat(
            2.0 * p / w * slow * along,
            slow * (radial * s + ((w + 1.0) * c + f) * along / w - lean * g * z / w),
            slow * (-radial * c + ((w + 1.0) * s + g) * along / w + lean * f * z / w),
            tilt * c,
            tilt * s,
            w**2 / (p * slow) + slow * lean * z / w,
        )

    def scales(self, scales: Floats) -> Floats:
        """The length for p, one for all others."""
        return np.concatenate((scales[:1], np.ones(5), scales[MASS:]))

    def lowest(self, scales: Floats) -> Floats:
        """Only p is bounded: above the ground `LEAST_NEARNESS` asks for more."""
        return np.array([LEAST_NEARNESS * scales[0], *(-np.inf,) * 5])


def _axes(h: Expr, k: Expr) -> tuple[Expr, Expr]:
    """Axes in the orbit's plane, from which the longitude and the eccentricity are measured."""
    size = 1.0 + h**2 + k**2
    east = ca.vertcat(1.0 + h**2 - k**2, 2.0 * h * k, -2.0 * k) / size
    north = ca.vertcat(2.0 * h * k, 1.0 - h**2 + k**2, 2.0 * h) / size
    return east, north

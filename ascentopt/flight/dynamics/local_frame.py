"""The local frame: vertical, east and north at a place, and how the vehicle moves there."""

from __future__ import annotations

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.air import air_velocity
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude, up

Axis = tuple[float, float, float]
"""Unit vector (3), inertial, that east turns about."""

SPIN: Axis = (0.0, 0.0, 1.0)
"""The body's own axis: with it east and north are what they are on a map."""

# Where the vertical is nearer to the axis than this (rad), a millimetre on Earth, east is taken
# along y: for the spin axis the limit when the pole is approached along x. Any choice would do as
# long as everyone makes the same.
_ALONG = 1.6e-10


def local_axes(body: Body, position: Expr, axis: Expr | Axis = SPIN) -> tuple[Expr, Expr, Expr]:
    """Unit vectors (3) up, east and north, inertial.

    Up is normal to the ellipsoid; east is axis x up, normalised; north is up x east.
    """
    vertical = up(body, position)
    across = ca.cross(ca.SX(ca.vertcat(*axis) if isinstance(axis, tuple) else axis), vertical)
    length = ca.norm_2(across)
    y_axis = ca.DM([0.0, 1.0, 0.0])
    east = ca.if_else(length < _ALONG, y_axis, across / ca.fmax(length, _ALONG))
    return vertical, east, ca.cross(vertical, east)


def heating(body: Body, position: Expr, velocity: Expr) -> Expr:
    """Free-molecular heating, half rho v^3, in W/m^2."""
    if body.atmosphere is None:
        return ca.SX(0.0)
    speed = ca.norm_2(air_velocity(body, position, velocity))
    return 0.5 * body.atmosphere.density(altitude(body, position)) * speed**3

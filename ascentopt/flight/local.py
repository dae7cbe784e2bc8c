"""The local frame: vertical, east and north at a place, and how the vehicle moves there."""

from __future__ import annotations

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.air import air_velocity
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude, up

# Closer to the spin axis than this (m) east is taken along the y axis: the limit when the pole is
# approached along the x axis. Any choice would do as long as everyone makes the same.
_AT_THE_POLE = 1e-3


def local_axes(body: Body, position: Expr) -> tuple[Expr, Expr, Expr]:
    """Unit vectors (3) up, east and north, inertial.

    Up is normal to the ellipsoid; east is z x up, normalised; north is up x east.
    """
    vertical = up(body, position)
    distance = ca.sqrt(position[0] ** 2 + position[1] ** 2)
    polar = distance < _AT_THE_POLE
    divisor = ca.fmax(distance, _AT_THE_POLE)
    east = ca.vertcat(
        ca.if_else(polar, 0.0, -position[1] / divisor),
        ca.if_else(polar, 1.0, position[0] / divisor),
        0.0,
    )
    return vertical, east, ca.cross(vertical, east)


def heating(body: Body, position: Expr, velocity: Expr) -> Expr:
    """Free-molecular heating, half rho v^3, in W/m^2."""
    if body.atmosphere is None:
        return ca.SX(0.0)
    speed = ca.norm_2(air_velocity(body, position, velocity))
    return 0.5 * body.atmosphere.density(altitude(body, position)) * speed**3

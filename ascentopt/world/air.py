"""Velocity relative to ground and air that turn with the body."""

from __future__ import annotations

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude, up

# m^2 added under the root: on the spin axis, where no direction is east, the wind dies away.
_TINY = 1.0


def ground_velocity(body: Body, position: Expr, velocity: Expr) -> Expr:
    """Return velocity - spin x position (3) in m/s, from inertial position (m) and velocity.

    It is the velocity in the frame that turns with the body: on the pad it is zero.
    """
    spin = body.rotation_rate
    return ca.vertcat(
        velocity[0] + spin * position[1], velocity[1] - spin * position[0], velocity[2]
    )


def air_velocity(body: Body, position: Expr, velocity: Expr) -> Expr:
    """Return the velocity (3) in m/s relative to the air: to the ground, less the wind if any."""
    over_ground = ground_velocity(body, position, velocity)
    if body.atmosphere is None or body.atmosphere.wind is None:
        return over_ground
    eastward, northward = body.atmosphere.wind.at(altitude(body, position))
    distance = ca.sqrt(position[0] ** 2 + position[1] ** 2 + _TINY)
    east = ca.vertcat(-position[1] / distance, position[0] / distance, 0.0)
    north = ca.cross(up(body, position), east)
    return over_ground - eastward * east - northward * north

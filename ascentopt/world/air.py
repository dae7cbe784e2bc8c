"""Velocity relative to air that turns with the body."""

from __future__ import annotations

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.body import Body


def air_velocity(body: Body, position: Expr, velocity: Expr) -> Expr:
    """Return velocity - spin x position (3) in m/s, from inertial position (m) and velocity."""
    spin = body.rotation_rate
    return ca.vertcat(
        velocity[0] + spin * position[1], velocity[1] - spin * position[0], velocity[2]
    )

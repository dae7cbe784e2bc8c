"""Rates at which delta-v is lost, as expressions."""

from __future__ import annotations

import casadi as ca

from ascentopt.flight.dynamics.forces import Forces
from ascentopt.typing import Expr
from ascentopt.world.air import ground_velocity
from ascentopt.world.body import Body

LOSSES = ("ideal", "gravity", "drag", "steering", "back_pressure")
"""What is integrated along the flight, m/s, in this order."""

# Below this speed (m/s) the velocity relative to the pad is rounding error: what the spin of the
# Earth leaves is 1e-13 m/s.
_AT_REST = 1e-6


def loss_rates(body: Body, now: Forces) -> Expr:
    """(5,) rates of `LOSSES` in m/s^2.

    At rest the direction of w is that of its growth, which is its limit as the motion begins; any
    other choice would put a jump at the very start of the integration.
    """
    at = now.instant
    mass, thrust = at.mass, now.thrust
    w = ground_velocity(body, at.position, at.velocity)
    centrifugal = body.rotation_rate**2 * ca.vertcat(at.position[0], at.position[1], 0.0)
    speed = ca.norm_2(w)
    growth = now.acceleration + centrifugal
    toward = ca.if_else(
        speed < _AT_REST,
        growth / ca.fmax(ca.norm_2(growth), 1e-12),
        w / ca.fmax(speed, _AT_REST),
    )
    return ca.vertcat(
        now.vacuum_thrust / mass,
        -ca.dot(now.gravity + centrifugal, toward),
        -ca.dot(now.aerodynamic, toward) / mass,
        thrust / mass * (1.0 - ca.dot(now.direction, toward)),
        (now.vacuum_thrust - thrust) / mass,
    )

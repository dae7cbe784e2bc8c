"""Where things stand in the state, and how it changes with time."""

from __future__ import annotations

import casadi as ca

from ascentopt.flight.dynamics.forces import Forces, Instant
from ascentopt.typing import Expr

MASS = 6
"""Place of the mass in the state; before it stand position and velocity."""

PACKED = 13
"""Entries of a packed instant: time, elapsed, state (7), direction (3), throttle."""


def unpacked(x: Expr, numbers: Expr) -> Instant:
    """The instant that (13,) packed entries and the arc's numbers stand for."""
    return Instant(
        time=x[0],
        elapsed=x[1],
        position=x[2:5],
        velocity=x[5:8],
        mass=x[2 + MASS],
        direction=x[9:12],
        throttle=x[12],
        numbers=numbers,
    )


def motion(now: Forces) -> Expr:
    """(7,) time derivative of position, velocity and mass."""
    return ca.vertcat(now.instant.velocity, now.acceleration, -now.mass_flow)

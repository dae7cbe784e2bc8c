"""Gravity of a body."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.body import Body
from ascentopt.world.orbital_elements import circular_speed

# Keeps an iterate at the very centre finite; far below rounding at any radius that is flown.
_TINY = 1e-6  # m^2


def gravity(body: Body, position: Expr) -> Expr:
    """Return the acceleration (3) in m/s^2 at the inertial `position` (3) in m.

    Point mass, with the oblateness term when the body has a J2: D. A. Vallado, Fundamentals of
    Astrodynamics and Applications, 4th ed., eq. 8-30 (from memory).
    """
    squared = ca.sumsqr(position) + _TINY
    central = -body.gravitational_parameter / squared**1.5
    if body.j2 == 0.0:
        return central * position
    strength = 1.5 * body.j2 * body.radius**2 / squared
    sine = 5.0 * position[2] ** 2 / squared
    across, along = 1.0 + strength * (1.0 - sine), 1.0 + strength * (3.0 - sine)
    return central * ca.vertcat(across * position[0], across * position[1], along * position[2])


def oblateness(body: Body, position: Expr) -> Expr:
    """Its part (3) that is not the pull of a sphere: nothing without a J2."""
    if body.j2 == 0.0:
        return ca.SX.zeros(3)
    return gravity(body, position) - gravity(replace(body, j2=0.0), position)


def surface_circular_speed(body: Body) -> float:
    """Speed of a circle at the equatorial radius, m/s, as if the body were a sphere."""
    return circular_speed(body.gravitational_parameter, body.radius)


def surface_time_scale(body: Body) -> float:
    """Seconds in which a satellite at the surface would travel a radius."""
    return sqrt(body.radius**3 / body.gravitational_parameter)

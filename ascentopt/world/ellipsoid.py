"""Altitude, vertical and places on a body's reference ellipsoid.

Positions are column vectors (3) in m, planet-centred and inertial, z along the spin axis: CasADi
SX, MX or DM. The ellipsoid is one of revolution, so its spin does not show.
"""

from __future__ import annotations

from math import atan2, cos, sin, sqrt

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.body import Body

# Added under roots so that they and their derivatives exist on the spin axis and at the centre.
# A square millimetre moves no altitude by more than a rounding error.
_TINY = 1e-6  # m^2


def altitude(body: Body, position: Expr) -> Expr:
    """Return the height in m above the ellipsoid (above the sphere when not flattened).

    One step of B. R. Bowring, Survey Review 23 (1976) 323-327, started from the parametric latitude
    of his note in Survey Review 28 (1985) 202-206. Up to 1000 km its error is below 1e-6 m on the
    Earth and on Mars.
    """
    if body.flattening == 0.0:
        return ca.sqrt(ca.sumsqr(position) + _TINY) - body.radius
    axial, polar, equatorial_share, polar_share = _meridian(body, position)
    squared = body.flattening * (2.0 - body.flattening)
    normal = body.radius * ca.sqrt(1.0 - squared * polar_share**2)
    return axial * equatorial_share + polar * polar_share - normal


def up(body: Body, position: Expr) -> Expr:
    """Return the unit outward normal (3) of the ellipsoid: the direction of a vertical rise."""
    if body.flattening == 0.0:
        return position / ca.sqrt(ca.sumsqr(position) + _TINY)
    axial, _, equatorial_share, polar_share = _meridian(body, position)
    radial = equatorial_share / axial
    return ca.vertcat(radial * position[0], radial * position[1], polar_share)


def site_position(body: Body, latitude: float, longitude: float, altitude: float) -> Expr:
    """Return the position (3, DM) of a place.

    Geodetic `latitude` and `longitude` in rad, the latter from the x axis (that of the body where
    its longitude zero lies there), `altitude` in m above the ellipsoid.
    """
    axial, polar = _meridian_point(body, latitude, altitude)
    return ca.DM([axial * cos(longitude), axial * sin(longitude), polar])


def geocentric_latitude(body: Body, latitude: float, altitude: float) -> float:
    """Return the angle in rad from the equator, seen from the centre, of a geodetic place."""
    axial, polar = _meridian_point(body, latitude, altitude)
    return atan2(polar, axial)


def _meridian_point(body: Body, latitude: float, altitude: float) -> tuple[float, float]:
    """Distance from the spin axis and from the equator in m."""
    squared = body.flattening * (2.0 - body.flattening)
    curvature_radius = body.radius / sqrt(1.0 - squared * sin(latitude) ** 2)
    axial = (curvature_radius + altitude) * cos(latitude)
    return axial, (curvature_radius * (1.0 - squared) + altitude) * sin(latitude)


def _meridian(body: Body, position: Expr) -> tuple[Expr, Expr, Expr, Expr]:
    """Distance from the axis, z, and the cosine and sine of the geodetic latitude."""
    a, b = body.radius, body.polar_radius
    squared = 1.0 - (b / a) ** 2
    second = (a / b) ** 2 - 1.0
    z = position[2]
    p = ca.sqrt(position[0] ** 2 + position[1] ** 2 + _TINY)
    r = ca.sqrt(p**2 + z**2)
    cos_u, sin_u = _unit(a * p, b * z * (1.0 + second * b / r))
    cos_latitude, sin_latitude = _unit(
        p - squared * a * cos_u**3,
        z + second * b * sin_u**3,
    )
    return p, z, cos_latitude, sin_latitude


def _unit(x: Expr, y: Expr) -> tuple[Expr, Expr]:
    length = ca.sqrt(x**2 + y**2)
    return x / length, y / length

"""Descriptions of bodies and their atmospheres, and the geometry and gravity around them."""

from __future__ import annotations

from ascentopt.world.air import air_velocity, ground_velocity
from ascentopt.world.atmosphere import AirState, Atmosphere
from ascentopt.world.body import Body, earth, mars, moon
from ascentopt.world.ellipsoid import altitude, geocentric_latitude, site_position, up
from ascentopt.world.gravity import gravity
from ascentopt.world.table import SmoothTable
from ascentopt.world.wind import Wind

__all__ = [
    "AirState",
    "Atmosphere",
    "Body",
    "SmoothTable",
    "Wind",
    "air_velocity",
    "altitude",
    "earth",
    "geocentric_latitude",
    "gravity",
    "ground_velocity",
    "mars",
    "moon",
    "site_position",
    "up",
]

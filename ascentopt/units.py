"""Multipliers that turn what people say into SI base units and radians.

``300 * km`` is 300 000 m, ``-12 * deg`` is -0.2094 rad. Every number that enters or leaves the
library is in metres, kilograms, seconds, newtons, pascals and radians.
"""

from __future__ import annotations

from math import pi

km = 1e3
"""m"""
cm = 1e-2
"""m"""
mm = 1e-3
"""m"""
tonne = 1e3
"""kg"""
minute = 60.0
"""s"""
hour = 3600.0
"""s"""
deg = pi / 180.0
"""rad"""
kN = 1e3
"""N"""
MN = 1e6
"""N"""
kPa = 1e3
"""Pa"""
MPa = 1e6
"""Pa"""
kW = 1e3
"""W"""

STANDARD_GRAVITY = 9.80665
"""m/s^2, the conventional value of the 3rd CGPM (1901); it turns specific impulse to speed."""

SEA_LEVEL_PRESSURE = 101325.0
"""Pa, the standard atmosphere (10th CGPM, 1954); what "sea level" means on any body."""

g0 = STANDARD_GRAVITY
"""m/s^2, for axial accelerations: ``4.5 * g0``."""


def in_places(value: float, places: int) -> str:
    """The number to so many decimal places; zero has no sign."""
    return f"{round(value, places) + 0.0:.{places}f}"


def signed(value: float, places: int) -> str:
    """The number to so many decimal places with its sign; zero has none."""
    rounded = round(value, places) + 0.0
    return f"{rounded:+.{places}f}" if rounded else f"{rounded:.{places}f}"

"""Invented vehicles and missions that tests of many rooms and the benchmarks share.

The first examples fly the same; `tests/examples/test_gallery.py` holds them together.
"""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import deg, km, kPa

_SCENARIOS = ao.scenarios()

TURNSTONE = _SCENARIOS["earth-weak-upper"].vehicle
PELICAN_POINT = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(name="Pelican Point", latitude=-12 * deg, altitude=40.0),
    orbit=ao.CircularOrbit(altitude=300 * km),
    limits=ao.FlightLimits(dynamic_pressure=40 * kPa),
)

PHALAROPE = _SCENARIOS["earth-small"].vehicle
HERON_SPIT = _SCENARIOS["earth-small"].mission

KNOT = _SCENARIOS["marble-thick-air"].vehicle
LEDGE = _SCENARIOS["marble-thick-air"].mission
MARBLE = LEDGE.body

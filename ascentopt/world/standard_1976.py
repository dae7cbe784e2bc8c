"""The U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562): exact layers and the smooth table.

Up to 86 km the exact model is seven layers of linear temperature in geopotential height
(`layered_air`); above it is integrated in `ascentopt.world.thermosphere`. Both have kinks.
`standard_tables` bridges the kinks of the layers with quintics 300 m wide, and is exact in
value, slope and curvature at its knots elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ascentopt.typing import Floats
from ascentopt.units import SEA_LEVEL_PRESSURE, STANDARD_GRAVITY, km
from ascentopt.world.table import SmoothTable
from ascentopt.world.thermosphere import AirProfile, upper_air

EARTH_RADIUS = 6356766.0
"""m, the report's effective radius for geopotential height (eq. 19)."""

GAS_CONSTANT_OF_AIR = 8314.32 / 28.9644
"""J/(kg K), table 2 of the report: R* = 8314.32 J/(kmol K), M0 = 28.9644 kg/kmol."""

TOP_OF_LAYERS = 86 * km
"""Geometric altitude in m where the layers end."""

# Table 4 of the report: base of each layer in geopotential metres, temperature gradient in K/m.
_BASES = (0.0, 11e3, 20e3, 32e3, 47e3, 51e3, 71e3)
_GRADIENTS = (-6.5e-3, 0.0, 1.0e-3, 2.8e-3, 0.0, -2.8e-3, -2.0e-3)
_SURFACE_TEMPERATURE = 288.15  # K
_HYDROSTATIC = STANDARD_GRAVITY / GAS_CONSTANT_OF_AIR  # K/m

# Half the width of a bridge. Wider ones miss the layers by more, narrower ones bend more sharply
# and ask for finer meshes; at 150 m the density is off by 1e-3 at the worst kink.
_BRIDGE = 150.0  # m

# Knots besides the feet of the bridges. Few, because meshes and the flight's steps feel each one.
# Pairs 300 m apart bridge the jumps of the mean mass (100 km) and of the temperature's curvature
# (110 km).
_BOTTOM = -5 * km
_LOWER_KNOTS = (-4 * km, 3 * km)
_UPPER_KNOTS = (
    *(95 * km, 99.85 * km, 100.15 * km, 107 * km, 109.85 * km, 110.15 * km, 124 * km, 140 * km),
    *(180 * km, 240 * km, 350 * km, 600 * km, 800 * km, 980 * km, 1000 * km),
)


def layered_air(altitude: Floats) -> AirProfile:
    """Return the exact layered model at geometric `altitude` (n) in m, meant for -5 to 86 km.

    Equations 18, 23, 33a, 33b and 42 of the report. At the border of two layers the upper one
    counts; beyond 86 km the last layer is continued.
    """
    z = np.atleast_1d(np.asarray(altitude, dtype=np.float64))
    height = EARTH_RADIUS * z / (EARTH_RADIUS + z)
    layer = np.clip(np.searchsorted(_BASES, height, side="right") - 1, 0, None)
    base_temperature, base_log_pressure = _base_values()
    gradient = np.asarray(_GRADIENTS)[layer]
    rise = height - np.asarray(_BASES)[layer]
    temperature = base_temperature[layer] + gradient * rise
    # ln(T/Tb)/L tends to rise/Tb where the gradient is zero; log1p keeps the digits near it.
    stretch = gradient * rise / base_temperature[layer]
    safe = np.where(gradient == 0.0, 1.0, gradient)
    fall = np.where(gradient == 0.0, rise / base_temperature[layer], np.log1p(stretch) / safe)
    log_pressure = base_log_pressure[layer] - _HYDROSTATIC * fall
    return _with_derivatives(z, temperature, gradient, log_pressure)


@dataclass(frozen=True, kw_only=True)
class StandardTables:
    """Smooth tables on the same knots, from -5 to 1000 km."""

    log_density: SmoothTable
    log_pressure: SmoothTable
    temperature: SmoothTable


@lru_cache(maxsize=1)
def standard_tables() -> StandardTables:
    """Return the smooth tables.

    Largest relative deviation of density and pressure from the exact model, measured: 5e-6 from
    -4 to 86 km outside the bridges (4e-5 below -4 km), and inside them 8.3e-4 in density (at
    11.02 km) and 7e-6 in pressure; 1e-3 from 86 to 1000 km, where the air itself varies by tens of
    per cent from day to day.
    """
    below, above = _lower_knots(), np.asarray((TOP_OF_LAYERS + _BRIDGE, *_UPPER_KNOTS))
    lower, upper = layered_air(below), upper_air(above)
    knots = np.append(below, above)
    return StandardTables(
        log_density=_table(knots, lower.log_density, upper.log_density),
        log_pressure=_table(knots, lower.log_pressure, upper.log_pressure),
        temperature=_table(knots, lower.temperature, upper.temperature),
    )


def _base_values() -> tuple[Floats, Floats]:
    """Temperature in K and log pressure at the bases of the layers."""
    temperatures, pressures = [_SURFACE_TEMPERATURE], [float(np.log(SEA_LEVEL_PRESSURE))]
    for thickness, gradient in zip(np.diff(_BASES), _GRADIENTS[:-1], strict=True):
        low, high = temperatures[-1], temperatures[-1] + gradient * thickness
        fall = np.log(high / low) / gradient if gradient else thickness / low
        temperatures.append(high)
        pressures.append(pressures[-1] - _HYDROSTATIC * fall)
    return np.asarray(temperatures), np.asarray(pressures)


def _with_derivatives(z: Floats, t: Floats, gradient: Floats, log_pressure: Floats) -> AirProfile:
    """Differentiate hydrostatic equilibrium and the gas law twice by geometric altitude."""
    weight = (EARTH_RADIUS / (EARTH_RADIUS + z)) ** 2  # d(geopotential) / d(geometric)
    weight_slope = -2.0 * weight / (EARTH_RADIUS + z)
    t1, t2 = gradient * weight, gradient * weight_slope
    p1 = -_HYDROSTATIC * weight / t
    p2 = -_HYDROSTATIC * (weight_slope / t - weight * t1 / t**2)
    log_density = log_pressure - np.log(GAS_CONSTANT_OF_AIR * t)
    return AirProfile(
        np.stack((log_density, p1 - t1 / t, p2 - t2 / t + (t1 / t) ** 2)),
        np.stack((log_pressure, p1, p2)),
        np.stack((t, t1, t2)),
    )


def _lower_knots() -> Floats:
    """Both ends of every bridge, and the knots between them, up to the last bridge's foot."""
    inner = np.asarray(_BASES[1:])
    kinks = EARTH_RADIUS * inner / (EARTH_RADIUS - inner)
    others = np.asarray((_BOTTOM, *_LOWER_KNOTS, TOP_OF_LAYERS - _BRIDGE))
    return np.sort(np.concatenate((others, kinks - _BRIDGE, kinks + _BRIDGE)))


def _table(knots: Floats, lower: Floats, upper: Floats) -> SmoothTable:
    values, slopes, curvatures = np.hstack((lower, upper))
    curvatures[0] = curvatures[-1] = 0.0
    return SmoothTable(
        knots=tuple(knots), values=tuple(values), slopes=tuple(slopes), curvatures=tuple(curvatures)
    )

"""The U.S. Standard Atmosphere, 1976, from 86 to 1000 km: number densities by integration.

Section 1.3 of the report (NOAA-S/T 76-1562): above 86 km the gases part. Each species has its own
balance of gravity, eddy mixing up to 115 km and diffusion through the others, and an outward flow;
the equations are numbered as in the report.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ascentopt.typing import Floats
from ascentopt.units import STANDARD_GRAVITY, km

_BOLTZMANN = 1.380622e-23  # J/K, table 2
_AVOGADRO = 6.022169e26  # 1/kmol, table 2
_GAS_CONSTANT = 8314.32  # J/(kmol K), table 2
_RADIUS = 6356766.0  # m, eq. 17
_MIXED_MASS = 28.9644  # kg/kmol, of well mixed air; holds up to 100 km
_BASE = 86 * km
_TURBOPAUSE = 100 * km

# Temperature segments, eqs. 25 to 32.
_T7, _T9, _T10, _T_INF = 186.8673, 240.0, 360.0, 1000.0  # K
_Z8, _Z9, _Z10 = 91 * km, 110 * km, 120 * km
_ELLIPSE_CENTRE, _ELLIPSE_HEIGHT, _ELLIPSE_WIDTH = 263.1905, -76.3232, -19942.9  # K, K, m
_SLOPE_9 = 12.0 / km  # K/m
_LAMBDA = 0.01875 / km  # 1/m


@dataclass(frozen=True, kw_only=True)
class _Species:
    """Constants of tables 2, 6, 7 and 8 for one gas, in SI units.

    `number` 1/m^3 at 86 km, `mass` kg/kmol, diffusion `a` 1/(m s) and `b`, thermal diffusion
    `alpha`, and the outward flow: strengths 1/m^3, centres m, widths 1/m^3.
    """

    number: float
    mass: float
    a: float
    b: float
    alpha: float = 0.0
    flow: tuple[float, float, float]
    low_flow: tuple[float, float, float] = (0.0, 0.0, 0.0)


_N2_NUMBER, _N2_MASS = 1.129794e20, 28.0134
_OXYGEN = _Species(
    number=8.6e16, mass=15.9994, a=6.986e20, b=0.750,
    flow=(-5.809644e-13, 56903.11, 2.706240e-14),
    low_flow=(-3.416248e-12, 97000.0, 5.008765e-13),
)  # fmt: skip
_O2 = _Species(
    number=3.030898e19, mass=31.9988, a=4.863e20, b=0.750,
    flow=(1.366212e-13, 86000.0, 8.333333e-14),
)  # fmt: skip
_ARGON = _Species(
    number=1.351400e18, mass=39.948, a=4.487e20, b=0.870,
    flow=(9.434079e-14, 86000.0, 8.333333e-14),
)  # fmt: skip
_HELIUM = _Species(
    number=7.5817e14, mass=4.0026, a=1.700e21, b=0.691, alpha=-0.40,
    flow=(-2.457369e-13, 86000.0, 6.666667e-13),
)  # fmt: skip

# Hydrogen, eq. 39: known at 500 km, escaping upwards, and left out below 150 km.
_H_MASS, _H_A, _H_B, _H_ALPHA = 1.00797, 3.305e21, 0.5, -0.25
_H_NUMBER, _H_FLUX = 8.0e10, 7.2e11  # 1/m^3 at 500 km, 1/(m^2 s)
_H_BOTTOM, _H_LEVEL = 150 * km, 500 * km

# Fine where the species part, coarser where only their weight matters; finer steps change the
# densities by less than 1e-5.
_FINE_STEP, _COARSE_STEP, _COARSE_FROM, _TOP = 50.0, 500.0, 150 * km, 1000 * km


class AirProfile(NamedTuple):
    """Air at n altitudes, each field an array (3, n): value, slope per m, curvature per m^2.

    `log_density` counts kg/m^3 and `log_pressure` Pa; `temperature` K is the molecular-scale one,
    p / (rho x gas constant of well mixed air).
    """

    log_density: Floats
    log_pressure: Floats
    temperature: Floats


def upper_air(altitude: Floats, *, fineness: float = 1.0) -> AirProfile:
    """Return the air at geometric `altitude` (n) in m, each on the grid of the integration.

    The grid has steps of 50 m to 150 km and 500 m above, to 1000 km; altitudes between its points
    get the nearest one. With a ``fineness`` the steps are so many times as short, to see what they
    leave.
    """
    grid, columns = _integrated(fineness)
    at = np.searchsorted(grid, np.asarray(altitude) - 1e-6)
    return AirProfile(*(column[:, at] for column in columns))


def kinetic_temperature(z: Floats) -> tuple[Floats, Floats]:
    """Return the temperature in K and its slope in K/m at `z` (n) in m, eqs. 25 to 32."""
    stretch = np.clip((z - _Z8) / _ELLIPSE_WIDTH, -0.99, 0.0)
    root = np.sqrt(1.0 - stretch**2)
    ratio = (_RADIUS + _Z10) / (_RADIUS + z)
    decay = (_T_INF - _T10) * np.exp(-_LAMBDA * np.maximum(z - _Z10, 0.0) * ratio)
    where = [z <= _Z8, z <= _Z9, z <= _Z10]
    temperature = np.select(
        where,
        [_T7, _ELLIPSE_CENTRE + _ELLIPSE_HEIGHT * root, _T9 + _SLOPE_9 * (z - _Z9)],
        _T_INF - decay,
    )
    bend = -_ELLIPSE_HEIGHT / _ELLIPSE_WIDTH * stretch / root
    slope = np.select(where, [0.0, bend, _SLOPE_9], _LAMBDA * decay * ratio**2)
    return temperature, slope


@lru_cache(maxsize=1)
def _integrated(fineness: float = 1.0) -> tuple[Floats, tuple[Floats, Floats, Floats]]:
    """The grid in m and, for each quantity, value, slope and curvature on it."""
    fine = np.arange(_BASE, _COARSE_FROM, _FINE_STEP / fineness)
    grid = np.append(fine, np.arange(_COARSE_FROM, _TOP + 1.0, _COARSE_STEP / fineness))
    numbers, slopes, masses = _number_densities(grid)
    temperature, temperature_slope = kinetic_temperature(grid)
    total, weight = numbers.sum(axis=0), masses @ numbers
    log_density = np.log(weight / _AVOGADRO)
    density_slope = masses @ (numbers * slopes) / weight
    log_pressure = np.log(_BOLTZMANN * total * temperature)
    pressure_slope = (numbers * slopes).sum(axis=0) / total + temperature_slope / temperature
    scale = np.exp(log_pressure - log_density) * _MIXED_MASS / _GAS_CONSTANT
    scale_slope = scale * (pressure_slope - density_slope)
    pairs = (
        (log_density, density_slope), (log_pressure, pressure_slope), (scale, scale_slope)
    )  # fmt: skip
    columns = [np.stack((v, s, np.gradient(s, grid))) for v, s in pairs]
    return grid, (columns[0], columns[1], columns[2])


def _number_densities(z: Floats) -> tuple[Floats, Floats, Floats]:
    """Numbers (6, n) in 1/m^3, the slopes (6, n) of their logarithms in 1/m, masses (6)."""
    heat, heat_slope = kinetic_temperature(z)
    pull = STANDARD_GRAVITY * (_RADIUS / (_RADIUS + z)) ** 2 / (_GAS_CONSTANT * heat)
    light = np.full_like(z, _N2_MASS)
    n2_slope = -_mean_mass(z, light) * pull - heat_slope / heat
    n2 = _N2_NUMBER * _T7 / heat * np.exp(-_integral(z, 0.0 * z, pull, light))
    oxygen, oxygen_slope = _diffused(_OXYGEN, z, n2, light)
    o2, o2_slope = _diffused(_O2, z, n2, light)
    major = n2 + oxygen + o2
    mixture = (_N2_MASS * n2 + _OXYGEN.mass * oxygen + _O2.mass * o2) / major
    argon, argon_slope = _diffused(_ARGON, z, major, mixture)
    helium, helium_slope = _diffused(_HELIUM, z, major, mixture)
    hydrogen = _hydrogen(z, major + argon + helium)
    hydrogen_slope = np.gradient(np.log(np.maximum(hydrogen, 1.0)), z)
    gases = (_OXYGEN, _O2, _ARGON, _HELIUM)
    return (
        np.stack((n2, oxygen, o2, argon, helium, hydrogen)),
        np.stack((n2_slope, oxygen_slope, o2_slope, argon_slope, helium_slope, hydrogen_slope)),
        np.array([_N2_MASS, *(gas.mass for gas in gases), _H_MASS]),
    )


def _diffused(gas: _Species, z: Floats, background: Floats, mass: Floats) -> tuple[Floats, Floats]:
    """Number density in 1/m^3 of one gas and the slope of its logarithm: eqs. 36 to 38.

    `background` is the number density of the gases that it drifts through, and `mass` the mean
    mass above 100 km of those that eddies carry it with.
    """
    heat, heat_slope = kinetic_temperature(z)
    pull = STANDARD_GRAVITY * (_RADIUS / (_RADIUS + z)) ** 2 / (_GAS_CONSTANT * heat)
    diffusion = gas.a / background * (heat / 273.15) ** gas.b
    eddies = _eddy_diffusion(z)
    share = diffusion / (diffusion + eddies)
    own = share * (gas.mass * pull + gas.alpha * heat_slope / heat) + _flow(gas, z)
    mixed = (1.0 - share) * pull
    number = gas.number * _T7 / heat * np.exp(-_integral(z, own, mixed, mass))
    return number, -(own + mixed * _mean_mass(z, mass)) - heat_slope / heat


def _integral(z: Floats, own: Floats, mixed: Floats, mass: Floats) -> Floats:
    """Running integral of own + mixed x mean mass; the mass jumps between cells, not in them."""
    middle = _mean_mass(0.5 * (z[1:] + z[:-1]), 0.5 * (mass[1:] + mass[:-1]))
    cells = own[1:] + own[:-1] + middle * (mixed[1:] + mixed[:-1])
    return np.append(0.0, np.cumsum(0.5 * np.diff(z) * cells))


def _mean_mass(z: Floats, mass: Floats) -> Floats:
    """Mass in kg/kmol of the mixture that eddies stir: of all air to 100 km, `mass` above."""
    return np.where(z <= _TURBOPAUSE, _MIXED_MASS, mass)


def _eddy_diffusion(z: Floats) -> Floats:
    """Eddy diffusion coefficient in m^2/s, eq. 7: gone from 115 km."""
    left = np.maximum(4e8 - np.maximum(z - 95 * km, 0.0) ** 2, 1e5)
    return np.where(z < 115 * km, 120.0 * np.exp(1.0 - 4e8 / left), 0.0)


def _flow(gas: _Species, z: Floats) -> Floats:
    """Outward flow over the diffusion coefficients in 1/m, eq. 37."""
    strength, centre, width = gas.flow
    total = strength * (z - centre) ** 2 * np.exp(-width * (z - centre) ** 3)
    strength, centre, width = gas.low_flow
    below = np.maximum(centre - z, 0.0)
    return total + strength * below**2 * np.exp(-width * below**3)


def _hydrogen(z: Floats, background: Floats) -> Floats:
    """Number density of atomic hydrogen in 1/m^3, zero below 150 km; eqs. 39 and 40."""
    heat, _ = kinetic_temperature(z)
    pull = STANDARD_GRAVITY * (_RADIUS / (_RADIUS + z)) ** 2 / (_GAS_CONSTANT * heat)
    level = int(np.searchsorted(z, _H_LEVEL))
    tau = _integral(z, _H_MASS * pull, 0.0 * z, 0.0 * z)
    tau -= tau[level]
    growth = (heat / heat[level]) ** (1.0 + _H_ALPHA) * np.exp(tau)
    diffusion = _H_A / background * (heat / 273.15) ** _H_B
    escaped = _integral(z, _H_FLUX / diffusion * growth, 0.0 * z, 0.0 * z)
    # Eq. 39 has the flux below 500 km only.
    source = np.where(z < _H_LEVEL, escaped[level] - escaped, 0.0)
    return np.where(z < _H_BOTTOM, 0.0, (_H_NUMBER + source) / growth)

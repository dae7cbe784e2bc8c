"""Air of another temperature at every height, the pressure in hydrostatic equilibrium with it.

With the pressure p, the density rho and theta = p/rho = R T, equilibrium is d(ln p)/dz = -g/theta
(U.S. Standard Atmosphere, 1976, eq. 16 with 17). Where T becomes T + d, theta grows by the factor
1 + d/T whatever the gas, and the slope of ln p falls by it:

    d(ln p')/dz = d(ln p)/dz T/(T + d),    ln rho' = ln p' - ln theta - ln(1 + d/T).

So neither gravity nor the gas has to be known. What is integrated is exact at the knots, in value,
slope and curvature; between them stand the tables' quintics.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ascentopt.typing import Floats
from ascentopt.world.table import SmoothTable, with_slopes

Offset = Callable[[Floats], Floats]
"""Of altitudes (n) in m: (3, n) kelvins warmer, with slope and curvature by altitude."""

_PANELS = 4
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True, kw_only=True)
class AirTables:
    """Logarithms of kg/m^3 and Pa, and kelvins, against altitude in m."""

    log_density: SmoothTable
    log_pressure: SmoothTable
    temperature: SmoothTable


def constant(kelvins: float) -> Offset:
    """So many kelvins at every height."""

    def offset(altitude: Floats) -> Floats:
        found = np.zeros((3, len(altitude)))
        found[0] = kelvins
        return found

    return offset


def fading(kelvins: float, start: float, length: float) -> Offset:
    """So many kelvins at a height, smoothly (C2) none at another so much higher, both in m."""

    def offset(altitude: Floats) -> Floats:
        t = np.clip((altitude - start) / length, 0.0, 1.0)
        falls = 1.0 - t**3 * (10.0 - 15.0 * t + 6.0 * t**2)
        slope = -30.0 * t**2 * (1.0 - t) ** 2 / length
        bend = -60.0 * t * (1.0 - t) * (1.0 - 2.0 * t) / length**2
        return kelvins * np.stack((falls, slope, bend))

    return offset


def warmed(air: AirTables, offset: Offset, knots: Floats, anchor: float) -> AirTables:
    """The air with another temperature, on other knots.

    Args:
        air: what is warmed.
        offset: by how much.
        knots: (n) altitudes in m, increasing.
        anchor: altitude in m where the pressure stays as it is.
    """
    pressure, density = with_slopes(air.log_pressure, knots), with_slopes(air.log_density, knots)
    warm, ratio = with_slopes(air.temperature, knots), _log_ratio(air, offset, knots)
    factor = np.exp(-ratio[0])  # T/(T + d), and its slope
    own = np.stack((
        _integrated(air, offset, knots, anchor) + float(air.log_pressure(anchor)),
        pressure[1] * factor,
        pressure[2] * factor - pressure[1] * factor * ratio[1],
    ))  # fmt: skip
    return AirTables(
        log_density=_table(knots, own - pressure + density - ratio),
        log_pressure=_table(knots, own),
        temperature=_table(knots, warm + offset(knots)),
    )


def _log_ratio(air: AirTables, offset: Offset, z: Floats) -> Floats:
    """(3, n) ln((T + d)/T) with slope and curvature."""
    t, t1, t2 = with_slopes(air.temperature, z)
    d, d1, d2 = offset(z)
    was, now = t1 / t, (t1 + d1) / (t + d)
    return np.stack((
        np.log((t + d) / t), now - was, (t2 + d2) / (t + d) - now**2 - t2 / t + was**2,
    ))  # fmt: skip


def _integrated(air: AirTables, offset: Offset, knots: Floats, anchor: float) -> Floats:
    """(n) the integral of the new slope of ln p from the anchor to each knot."""
    ends = np.unique(np.concatenate([knots, air.log_pressure.knots, [anchor]]))
    ends = ends[(ends >= min(knots[0], anchor)) & (ends <= max(knots[-1], anchor))]
    if len(ends) < 2:
        return np.zeros(len(knots))
    fine = np.unique(np.concatenate([
        np.linspace(low, high, _PANELS + 1) for low, high in pairwise(ends)
    ]))  # fmt: skip
    half = 0.5 * np.diff(fine)
    places = (0.5 * (fine[:-1] + fine[1:]))[:, None] + half[:, None] * _NODES
    z = places.ravel()
    slopes = with_slopes(air.log_pressure, z)[1] * np.exp(-_log_ratio(air, offset, z)[0])
    pieces = half * (slopes.reshape(places.shape) @ _WEIGHTS)
    total = np.concatenate([[0.0], np.cumsum(pieces)])
    return np.asarray(np.interp(knots, fine, total) - np.interp(anchor, fine, total))


def _table(knots: Floats, jet: Floats) -> SmoothTable:
    values, slopes, curvatures = jet.copy()
    curvatures[0] = curvatures[-1] = 0.0
    return SmoothTable(
        knots=tuple(knots), values=tuple(values), slopes=tuple(slopes), curvatures=tuple(curvatures)
    )

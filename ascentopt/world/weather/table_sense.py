"""Whether tables of air are those of a gas at rest: its law, and the weight that it carries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np

from ascentopt.numerics.trapezoid import trapezoid
from ascentopt.typing import Floats
from ascentopt.validation import require
from ascentopt.world.sensible import (
    GAS_CONSTANT_STEP,
    MIXED_PRESSURE,
    PARTING,
    PRESSURE_OVER_WEIGHT,
)
from ascentopt.world.table import SmoothTable

_FINE = 33  # points between two levels


def check_gas(owner: str, columns: Mapping[str, tuple[float, ...]]) -> None:
    """Refuse pressures that rise with altitude, and warn of densities that do not fit.

    Pressure over density and temperature is the gas constant. It is the same at all levels, but
    grows slowly in thin air, where heavy gases stay behind. The first level that differs from the
    one below is told.

    Raises:
        InputError: names the level at which the pressure is more than below.
    """
    altitude, pressure = columns["altitude"], columns["pressure"]
    for k, (below, here) in enumerate(pairwise(pressure), start=1):
        rule = f"at most {below!r} Pa, that of the level below, as air carries what is above it"
        fix = f"Correct it, or sort all columns by altitude (it is that at {altitude[k]:g} m)."
        require(owner, f"pressure[{k}]", here, "Pa", rule, fix, holds=here <= below)
    rows = zip(pressure, columns["density"], columns["temperature"], strict=True)
    constants = [press / (dense * warm) for press, dense, warm in rows]
    for k in range(1, len(constants)):
        if not _same_gas(owner, columns, constants, k):
            return


def _same_gas(
    owner: str, columns: Mapping[str, tuple[float, ...]], constants: list[float], k: int
) -> bool:
    """Whether a level has the gas constant of the one below; a warning where it has not."""
    pressure, step = columns["pressure"], constants[k] / constants[k - 1]
    sense = GAS_CONSTANT_STEP
    if pressure[k] < MIXED_PRESSURE:
        sense = replace(sense, high=sense.high * (pressure[k - 1] / pressure[k]) ** PARTING)
    fitting = columns["density"][k] * step
    name = f"pressure / (density temperature) at altitude[{k}] ({columns['altitude'][k]:g} m)"
    slip = (
        f"Correct one of the three at this level, or at the one below: density[{k}] would be "
        f"{fitting:.3g} kg/m^3. Temperatures are in kelvins."
    )
    sense.check(owner, name, step, slip)
    return sense.low <= step <= sense.high


def check_weight(
    owner: str, log_density: SmoothTable, log_pressure: SmoothTable, gravity: float, radius: float
) -> None:
    """Warn of the first level whose pressure is not that above it and the weight of air between.

    Args:
        owner: as in `ascentopt.validation.require`.
        log_density, log_pressure: of kg/m^3 and Pa against altitude in m, on the same knots.
        gravity: m/s^2 at altitude zero.
        radius: of the body, m: gravity falls off with its square.
    """
    knots = log_pressure.knots
    for low, high in pairwise(knots):
        heights = np.linspace(low, high, _FINE)
        weight = _weight(heights, np.exp(log_density(heights)), gravity, radius)
        ends = np.exp(log_pressure(np.array([low, high])))
        ratio = float(ends[0] - ends[1]) / weight
        name = f"atmosphere: fall of pressure from {low:g} to {high:g} m"
        slip = (
            f"Altitudes are in metres and pressures in Pa; or the gravity, {gravity:.4g} m/s^2, is "
            "not that of this air."
        )
        PRESSURE_OVER_WEIGHT.check(owner, name, ratio, slip)
        if not PRESSURE_OVER_WEIGHT.low <= ratio <= PRESSURE_OVER_WEIGHT.high:
            return


def _weight(heights: Floats, density: Floats, gravity: float, radius: float) -> float:
    """Pascals."""
    pull = gravity * (radius / (radius + heights)) ** 2
    return trapezoid(density * pull, float(heights[1] - heights[0]))

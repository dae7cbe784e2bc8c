"""Atmospheres: density, pressure and speed of sound against geometric altitude."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import inf, log
from typing import NamedTuple

import casadi as ca
import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.tables import one_line
from ascentopt.typing import Value
from ascentopt.units import km
from ascentopt.validation import (
    finite,
    increasing,
    instance,
    named,
    numbers,
    positive,
    require,
    same_length,
)
from ascentopt.world.sensible import HEAT_CAPACITY_RATIO
from ascentopt.world.standard_1976 import standard_tables
from ascentopt.world.table import SmoothTable, evaluate, higher_of, is_symbolic, lower_of
from ascentopt.world.wind import Wind

_DRY_AIR = 287.05287
"""J/(kg K), gas constant of dry air: ICAO Doc 7488 (from memory)."""

# An iterate deep underground must not overflow: densities and pressures grow to exp(5), some 150
# times, the surface value and no further. No site lies so low, so no answer depends on it.
_MOST_E_FOLDS = 5.0


class AirState(NamedTuple):
    """Air at one altitude: `density` kg/m^3, `pressure` Pa, `speed_of_sound` m/s."""

    density: Value
    pressure: Value
    speed_of_sound: Value


@checked
@dataclass(frozen=True, kw_only=True)
class Atmosphere:
    """An atmosphere that turns with the body, at rest or with a wind.

    `log_density` and `log_pressure` are the natural logarithms of kg/m^3 and Pa against geometric
    altitude in m, on the same knots; `temperature` (K) is for showing only. `ceiling` (m) is where
    the atmosphere ends for planning: an orbit must lie above it. The air does not vanish there;
    the tables go on. `wind` is over the ground; None = the air stands still there: to add one to
    any atmosphere, `dataclasses.replace(air, wind=Wind(...))`. Raises `InputError`.
    """

    name: str
    log_density: SmoothTable
    log_pressure: SmoothTable
    heat_capacity_ratio: float
    ceiling: float
    temperature: SmoothTable | None = None
    wind: Wind | None = None

    def __post_init__(self) -> None:
        named("Atmosphere", self.name, "Give the atmosphere a name.")
        owner = f"Atmosphere {self.name!r}"
        for name in ("log_density", "log_pressure"):
            instance(owner, name, getattr(self, name), (SmoothTable,), "Give a SmoothTable.")
        if self.log_density.knots != self.log_pressure.knots:
            raise InputError(
                f"{owner}: log_density and log_pressure have different knots; they must share "
                "them. Build both tables on the same altitudes."
            )
        finite(owner, "heat_capacity_ratio", self.heat_capacity_ratio, "", "1.4 for air.")
        good = self.heat_capacity_ratio > 1.0
        value = self.heat_capacity_ratio
        require(owner, "heat_capacity_ratio", value, "", "above 1", "Give 1.4 for air.", holds=good)
        HEAT_CAPACITY_RATIO.check(owner, "heat_capacity_ratio", value)
        fix = "Give the altitude in metres above which orbits are free of drag."
        positive(owner, "ceiling", self.ceiling, "m", fix)
        instance(owner, "wind", self.wind, (Wind, type(None)), "Give a Wind or None.")

    @classmethod
    def standard_1976(cls, *, ceiling: float = 100 * km) -> Atmosphere:
        """Return the U.S. Standard Atmosphere, 1976, from -5 to 1000 km.

        The curve and what it misses are described in `ascentopt.world.standard_1976`. A ceiling of
        100 km is common practice, no source: drag there is some 1e-6 of that at the ground.
        """
        tables = standard_tables()
        return cls(
            name="U.S. Standard Atmosphere 1976",
            log_density=tables.log_density,
            log_pressure=tables.log_pressure,
            temperature=tables.temperature,
            heat_capacity_ratio=1.4,
            ceiling=ceiling,
        )

    @classmethod
    def exponential(
        cls,
        *,
        surface_density: float,
        scale_height: float,
        ceiling: float,
        surface_temperature: float = 288.15,
        gas_constant: float = _DRY_AIR,
        heat_capacity_ratio: float = 1.4,
    ) -> Atmosphere:
        """Return isothermal air: density = surface_density exp(-altitude / scale_height).

        `surface_density` kg/m^3 at altitude zero, `scale_height` m, `surface_temperature` K,
        `gas_constant` J/(kg K); pressure is density x gas_constant x surface_temperature.
        """
        owner = "Atmosphere.exponential"
        positive(owner, "surface_density", surface_density, "kg/m^3", "No air is atmosphere=None.")
        positive(owner, "scale_height", scale_height, "m", "Give it in metres.")
        positive(owner, "surface_temperature", surface_temperature, "K", "Give it in kelvins.")
        positive(owner, "gas_constant", gas_constant, "J/(kg K)", "Give the specific gas constant.")
        slope = -1.0 / scale_height
        pressure = surface_density * gas_constant * surface_temperature
        return cls(
            name="exponential",
            log_density=_line(log(surface_density), slope),
            log_pressure=_line(log(pressure), slope),
            temperature=_line(surface_temperature, 0.0),
            heat_capacity_ratio=heat_capacity_ratio,
            ceiling=ceiling,
        )

    @classmethod
    def tabulated(
        cls,
        *,
        altitude: Iterable[float],
        temperature: Iterable[float],
        pressure: Iterable[float],
        density: Iterable[float],
        ceiling: float,
        heat_capacity_ratio: float = 1.4,
    ) -> Atmosphere:
        """Return air through points of a table, joined smoothly in the logarithm.

        `altitude` m (increasing), `temperature` K, `pressure` Pa, `density` kg/m^3, equally many.
        Beyond the ends density and pressure fall off exponentially as they do at the ends.
        """
        given = {
            "altitude": altitude,
            "temperature": temperature,
            "pressure": pressure,
            "density": density,
        }
        columns = _checked_columns(given)
        heights = columns["altitude"]
        return cls(
            name="tabulated",
            log_density=SmoothTable.through(x=heights, y=np.log(columns["density"])),
            log_pressure=SmoothTable.through(x=heights, y=np.log(columns["pressure"])),
            temperature=SmoothTable.held(x=heights, y=columns["temperature"]),
            heat_capacity_ratio=heat_capacity_ratio,
            ceiling=ceiling,
        )

    def __repr__(self) -> str:
        windy = [] if self.wind is None else [repr(self.wind)]
        return one_line(self, repr(self.name), f"ceiling {self.ceiling / km:g} km", *windy)

    def __str__(self) -> str:
        surface = self.state(0.0)
        blowing = "" if self.wind is None else f", {self.wind}"
        return (
            f"{self.name}: {surface.density:.4g} kg/m^3 and {surface.pressure:.5g} Pa at altitude "
            f"zero, ceiling {self.ceiling / km:g} km{blowing}"
        )

    @property
    def bottom(self) -> float:
        """Lowest altitude in m for which there are data; -inf for a law that has no end."""
        knots = self.log_density.knots
        return knots[0] if len(knots) > 1 else -inf

    @cached_property
    def scale_height(self) -> float:
        """Altitude in m at which the density is 1/e of that at zero; inf where it never is.

        Not from the slope at the ground, which a day's inversion may turn round.
        """
        heights = 0.5 * 2.0 ** np.arange(36)
        thin = np.flatnonzero(self.log_density(heights) < float(self.log_density(0.0)) - 1.0)
        if not len(thin):
            return inf
        low, high = (heights[max(thin[0] - 1, 0)], heights[thin[0]])
        fine = np.linspace(low, high, 1001)
        return float(fine[np.argmin(np.abs(self.log_density(fine) - self.log_density(0.0) + 1.0))])

    def state(self, altitude: Value) -> AirState:
        """Return the air at `altitude` (m): a float, an array or a CasADi scalar.

        One search of the knots serves all three values. Finite at any altitude.
        """
        log_density, log_pressure = evaluate(altitude, (self.log_density, self.log_pressure))
        low, high, density_cap, pressure_cap = self._bounds
        # The ratio is taken before the exponentials: both vanish high up.
        log_ratio = lower_of(higher_of(log_pressure - log_density, low), high)
        exp = ca.exp if is_symbolic(altitude) else np.exp
        return AirState(
            exp(lower_of(log_density, density_cap)),
            exp(lower_of(log_pressure, pressure_cap)),
            exp(0.5 * (log_ratio + log(self.heat_capacity_ratio))),
        )

    def density(self, altitude: Value) -> Value:
        """Return the density in kg/m^3 at `altitude` (m)."""
        exp = ca.exp if is_symbolic(altitude) else np.exp
        return exp(lower_of(self.log_density(altitude), self._bounds[2]))

    def pressure(self, altitude: Value) -> Value:
        """Return the pressure in Pa at `altitude` (m)."""
        exp = ca.exp if is_symbolic(altitude) else np.exp
        return exp(lower_of(self.log_pressure(altitude), self._bounds[3]))

    def speed_of_sound(self, altitude: Value) -> Value:
        """Return sqrt(heat_capacity_ratio x pressure / density) in m/s at `altitude` (m)."""
        return self.state(altitude).speed_of_sound

    @cached_property
    def _bounds(self) -> tuple[float, float, float, float]:
        """Range of log(p/rho) within the data, widened by half an e-fold, and the two caps."""
        pairs = zip(self.log_pressure.values, self.log_density.values, strict=True)
        ratios = [p - d for p, d in pairs]
        caps = [
            float(table(0.0)) + _MOST_E_FOLDS for table in (self.log_density, self.log_pressure)
        ]
        return min(ratios) - 0.5, max(ratios) + 0.5, caps[0], caps[1]


def _line(value: float, slope: float) -> SmoothTable:
    return SmoothTable(knots=(0.0,), values=(value,), slopes=(slope,), curvatures=(0.0,))


def _checked_columns(given: dict[str, Iterable[float]]) -> dict[str, tuple[float, ...]]:
    owner = "Atmosphere.tabulated"
    fix = "Give lists of altitude in m, temperature in K, pressure in Pa, density in kg/m^3."
    columns = {name: numbers(owner, name, values, "", fix) for name, values in given.items()}
    same_length(owner, columns, fix)
    if len(columns["altitude"]) < 2:
        raise InputError(f"{owner}: the table has fewer than 2 altitudes. {fix}")
    increasing(owner, "altitude", columns["altitude"], "m", "Sort the table by altitude.")
    for name in ("temperature", "pressure", "density"):
        for index, value in enumerate(columns[name]):
            positive(owner, f"{name}[{index}]", value, "", fix)
    return columns

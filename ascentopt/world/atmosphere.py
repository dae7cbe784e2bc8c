"""Atmospheres: density, pressure and speed of sound against geometric altitude."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, log
from typing import NamedTuple

import casadi as ca
import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.tables import one_line
from ascentopt.typing import Value
from ascentopt.units import STANDARD_GRAVITY, km
from ascentopt.validation import finite, instance, named, positive, require
from ascentopt.world.sensible import HEAT_CAPACITY_RATIO, TEMPERATURE_OFFSET
from ascentopt.world.standard_1976 import standard_tables
from ascentopt.world.table import SmoothTable, evaluate, higher_of, is_symbolic, lower_of
from ascentopt.world.weather.columns import checked_columns
from ascentopt.world.weather.ground_air import DRY_AIR, GroundAir
from ascentopt.world.weather.sounding import check_levels, sounding_tables, sounding_wind
from ascentopt.world.weather.table_sense import check_gas
from ascentopt.world.weather.warmed_air import AirTables, constant, warmed
from ascentopt.world.wind import Wind

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
    the tables go on. `wind` is over the ground; None = the air stands still there (`with_wind`).
    `awaits_body` says that pressure and temperature are to be those under the gravity of the body
    that it is given to; until then they are those under standard gravity. Raises `InputError`.
    """

    name: str
    log_density: SmoothTable
    log_pressure: SmoothTable
    heat_capacity_ratio: float
    ceiling: float
    temperature: SmoothTable | None = None
    wind: Wind | None = None
    awaits_body: bool = False

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
        surface_gravity: float | None = None,
        surface_temperature: float | None = None,
        gas_constant: float | None = None,
        heat_capacity_ratio: float = 1.4,
    ) -> Atmosphere:
        """Return isothermal air: density = surface_density exp(-altitude / scale_height).

        Pressure and temperature are those of hydrostatic equilibrium and of the ideal gas:
        pressure = density x surface_gravity x scale_height, of which the air's weight is made, and
        temperature = surface_gravity x scale_height / gas_constant. The gravity is that of the body
        that the air is given to, unless it is given here.

        Args:
            surface_density: kg/m^3 at altitude zero.
            scale_height: m.
            ceiling: m, as in the class.
            surface_gravity: m/s^2; None for that of the body, `Body.surface_gravity`.
            surface_temperature: K. Beside a gravity it stands for the gas constant. Alone it says
                the pressure, density x gas_constant x surface_temperature, whatever the weight of
                the air: that of measured air, or of a gas in no equilibrium.
            gas_constant: J/(kg K); None for that of dry air where it is needed.
            heat_capacity_ratio: 1.4 for air.
        """
        owner = "Atmosphere.exponential"
        positive(owner, "surface_density", surface_density, "kg/m^3", "No air is atmosphere=None.")
        positive(owner, "scale_height", scale_height, "m", "Give it in metres.")
        given = GroundAir(
            gravity=surface_gravity, temperature=surface_temperature, gas_constant=gas_constant
        )
        column, warmth = given.column_and_warmth(owner, scale_height)
        slope = -1.0 / scale_height
        return cls(
            name="exponential",
            log_density=_line(log(surface_density), slope),
            log_pressure=_line(log(surface_density * column), slope),
            temperature=_line(warmth, 0.0),
            heat_capacity_ratio=heat_capacity_ratio,
            ceiling=ceiling,
            awaits_body=surface_gravity is None and surface_temperature is None,
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

        Raises:
            InputError: for columns that do not match, and a pressure that rises with altitude; a
                warning for a density that does not fit pressure and temperature.
        """
        given = {
            "altitude": altitude,
            "temperature": temperature,
            "pressure": pressure,
            "density": density,
        }
        columns = checked_columns(given, "Atmosphere.tabulated")
        check_gas("Atmosphere.tabulated", columns)
        heights = columns["altitude"]
        return cls(
            name="tabulated",
            log_density=SmoothTable.through(x=heights, y=np.log(columns["density"])),
            log_pressure=SmoothTable.through(x=heights, y=np.log(columns["pressure"])),
            temperature=SmoothTable.held(x=heights, y=columns["temperature"]),
            heat_capacity_ratio=heat_capacity_ratio,
            ceiling=ceiling,
        )

    @classmethod
    def sounding(
        cls,
        *,
        altitude: Iterable[float],
        pressure: Iterable[float],
        temperature: Iterable[float],
        wind_speed: Iterable[float] | None = None,
        wind_from: Iterable[float] | None = None,
        above: Atmosphere | None = None,
        ceiling: float = 100 * km,
        gas_constant: float = DRY_AIR,
    ) -> Atmosphere:
        """Return the air of a day as a balloon met it, and a standard atmosphere above its burst.

        The join, its formulas and their sources are told in `ascentopt.world.weather.sounding`.
        Some tens of levels describe a day; each is a knot that meshes and flights feel.

        Args:
            altitude: m above the ellipsoid,  2 or more. Messages give geopotential
                metres h: that is 6356766 h / (6356766 - h).
            pressure: Pa, decreasing; hPa times 100.
            temperature: K; of humid air the virtual temperature.
            wind_speed: m/s, and
            wind_from: rad from north, clockwise, that the wind blows from. None for both: no wind.
                Above the burst it fades out with the temperature.
            above: of this air; by default the U.S. Standard Atmosphere, 1976.
            ceiling: m, as in the class.
            gas_constant: J/(kg K).

        Raises:
            InputError: for levels that cannot be those of a balloon.
        """
        owner, upper = "Atmosphere.sounding", above or cls.standard_1976(ceiling=ceiling)
        given = {"altitude": altitude, "temperature": temperature, "pressure": pressure}
        columns = checked_columns(given, owner)
        levels = tuple(np.array(columns[name]) for name in ("altitude", "pressure", "temperature"))
        height, press, warmth = levels
        tables = _tables_of(upper, owner)
        positive(owner, "gas_constant", gas_constant, "J/(kg K)", "287.05 for dry air.")
        check_levels(owner, tables, (height, press, warmth), gas_constant)
        found = sounding_tables(tables, height, press, warmth, gas_constant)
        return cls(
            name=f"sounding up to {height[-1] / km:.4g} km, {upper.name} above",
            log_density=found.log_density,
            log_pressure=found.log_pressure,
            temperature=found.temperature,
            heat_capacity_ratio=upper.heat_capacity_ratio,
            ceiling=ceiling,
            wind=sounding_wind(owner, columns["altitude"], wind_speed, wind_from),
        )

    def under_gravity(self, surface_gravity: float) -> Atmosphere:
        """The air in equilibrium under the gravity of a body, m/s^2, where it awaits one.

        Raises `InputError` for a gravity that is not positive.
        """
        owner, fix = "Atmosphere.under_gravity", "Give m/s^2, as Body.surface_gravity."
        positive(owner, "surface_gravity", surface_gravity, "m/s^2", fix)
        if not self.awaits_body:
            return self
        ratio = surface_gravity / STANDARD_GRAVITY
        warmth = self.temperature
        return replace(
            self,
            log_pressure=_lifted(self.log_pressure, log(surface_gravity) - log(STANDARD_GRAVITY)),
            temperature=None if warmth is None else _line(warmth.values[0] * ratio, 0.0),
            awaits_body=False,
        )

    def with_density_scaled(self, factor: float) -> Atmosphere:
        """The air with so many times the density and the pressure, as warm as it is.

        It is in hydrostatic equilibrium if this one is: more air weighs as much more. Raises
        `InputError` for a factor that is not positive.
        """
        positive("Atmosphere.with_density_scaled", "factor", factor, "", "1.1 is a tenth more.")
        return replace(
            self,
            name=f"{self.name}, density times {factor:g}",
            log_density=_lifted(self.log_density, log(factor)),
            log_pressure=_lifted(self.log_pressure, log(factor)),
        )

    def with_temperature_offset(self, kelvins: float) -> Atmosphere:
        """The air so much warmer (or, below zero, colder) at every height.

        The pressure at altitude zero stays; with height it falls off more slowly in warmer air, as
        hydrostatic equilibrium asks (`ascentopt.world.weather.warmed_air`). So the density is less
        near the ground and more high up: on Earth 10 K make 3.4 % less at sea level, 15 % more at
        30 km and 1.8 times as much at 100 km. Raises `InputError` for an atmosphere without a
        temperature, or one left without warmth.
        """
        owner = "Atmosphere.with_temperature_offset"
        finite(owner, "kelvins", kelvins, "K", "Give the kelvins by which it is warmer.")
        tables = _tables_of(self, owner)
        coldest = min(tables.temperature.values)
        rule = f"more than {-coldest:g} K, or no warmth is left"
        require(owner, "kelvins", kelvins, "K", rule, "Give less.", holds=coldest + kelvins > 0.0)
        TEMPERATURE_OFFSET.check(owner, "kelvins", kelvins)
        knots = np.asarray(self.log_pressure.knots)
        found = warmed(tables, constant(kelvins), knots, 0.0)
        return replace(
            self,
            name=f"{self.name}, {kelvins:+g} K",
            log_density=found.log_density,
            log_pressure=found.log_pressure,
            temperature=found.temperature,
        )

    def with_wind(self, wind: Wind | None) -> Atmosphere:
        """The air with this wind over the ground; None for none."""
        return replace(self, wind=wind)

    def __repr__(self) -> str:
        windy = [] if self.wind is None else [repr(self.wind)]
        return one_line(self, repr(self.name), f"ceiling {self.ceiling / km:g} km", *windy)

    def __str__(self) -> str:
        surface = self.state(0.0)
        blowing = "" if self.wind is None else f", {self.wind}"
        weight = " under standard gravity" if self.awaits_body else ""
        return (
            f"{self.name}: {surface.density:.4g} kg/m^3 and {surface.pressure:.5g} Pa at altitude "
            f"zero{weight}, ceiling {self.ceiling / km:g} km{blowing}"
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


def _tables_of(air: Atmosphere, owner: str) -> AirTables:
    """Its tables. Raises `InputError` where it has no temperature yet."""
    if air.temperature is None or air.awaits_body:
        raise InputError(
            f"{owner}: the air {air.name!r} has no temperature of its own; it must have one. Give "
            "a table of it, or surface_gravity, or take the air of a body (body.atmosphere)."
        )
    return AirTables(
        log_density=air.log_density, log_pressure=air.log_pressure, temperature=air.temperature
    )


def _line(value: float, slope: float) -> SmoothTable:
    return SmoothTable(knots=(0.0,), values=(value,), slopes=(slope,), curvatures=(0.0,))


def _lifted(table: SmoothTable, by: float) -> SmoothTable:
    return replace(table, values=tuple(value + by for value in table.values))

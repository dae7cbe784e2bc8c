"""A day's sounding by a balloon, and a standard atmosphere above the height where it burst.

Density is that of the ideal gas, p/(R T). Above the burst the standard's temperature is kept but
for an offset that fades out, and the pressure goes on from the burst in hydrostatic equilibrium
(`ascentopt.world.weather.warmed_air`): above the fading it is the standard's times a constant.

The levels are held against the hypsometric equation: between two of them
z2 - z1 = (R T / g) ln(p1/p2), T the mean temperature (J. M. Wallace and P. V. Hobbs, Atmospheric
Science, 2nd ed. 2006, sec. 3.2.1, from memory). Feet, degrees Celsius, wrong columns are refused.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import cos, pi, sin

import numpy as np

from ascentopt.errors import InputError
from ascentopt.typing import Floats
from ascentopt.units import STANDARD_GRAVITY, km
from ascentopt.validation import not_negative, numbers, same_length, within
from ascentopt.world.table import SmoothTable, with_slopes
from ascentopt.world.weather.warmed_air import AirTables, fading, warmed
from ascentopt.world.wind import Wind

FADES = 10.0 * km
"""In which a balloon's temperature goes over to the standard's: it is off by some 20 K at most, and
2 K/km is what the air above does itself (common practice, no source)."""

_OFF, _OFF_LEAST = 0.1, 150.0
"""Part of a layer's thickness, and m, by which it may miss the hypsometric equation: humidity does
1 %, a mean temperature between two significant levels a few."""

_ANOTHER = 3.0
"""Times the standard's pressure, or a part of it, that no weather makes at the lowest level."""

_APART = 1.0 * km
"""Between knots where the temperature fades."""


def sounding_tables(
    air: AirTables, altitude: Floats, pressure: Floats, temperature: Floats, gas_constant: float
) -> AirTables:
    """Tables through the levels (n) of a balloon, and of the air above them joined to it."""
    burst = float(altitude[-1])
    offset = float(temperature[-1] - air.temperature(burst))
    above = warmed(air, fading(offset, burst, FADES), _knots_above(air, burst), burst)
    lift = float(np.log(pressure[-1]) - above.log_pressure(burst))
    theta = float(above.log_pressure(burst) - above.log_density(burst))
    fit = theta - float(np.log(gas_constant * temperature[-1]))  # the gases may differ a little
    logs = np.log(pressure)
    return AirTables(
        log_density=_joined(
            altitude, logs - np.log(gas_constant * temperature), above.log_density, lift + fit
        ),
        log_pressure=_joined(altitude, logs, above.log_pressure, lift),
        temperature=_joined(altitude, temperature, above.temperature, 0.0),
    )


def check_levels(
    owner: str,
    air: AirTables,
    levels: tuple[Floats, Floats, Floats],
    gas_constant: float,
) -> None:
    """Refuse levels (altitude m, pressure Pa, temperature K) that no air can have.

    Raises `InputError`.
    """
    altitude, pressure, temperature = levels
    usual = float(np.exp(air.log_pressure(altitude[0])))
    if not usual / _ANOTHER < pressure[0] < usual * _ANOTHER:
        raise InputError(
            f"{owner}: pressure[0] is {float(pressure[0])!r} Pa at {float(altitude[0]):g} m; it "
            f"must be near {usual:.4g} Pa, the air's above. Give pascals: hPa times 100."
        )
    mean = 0.5 * (temperature[:-1] + temperature[1:])
    found = gas_constant * mean / STANDARD_GRAVITY * -np.diff(np.log(pressure))
    given = np.diff(altitude)
    wrong = np.abs(found - given) > np.maximum(_OFF * given, _OFF_LEAST)
    if wrong.any():
        at = int(np.argmax(wrong))
        raise InputError(
            f"{owner}: altitude[{at + 1}] is {float(altitude[at + 1])!r} m, {given[at]:.0f} m "
            "above the level before it; by their pressures and temperatures it must be "
            f"{found[at]:.0f} m above it (hypsometric equation). Give metres, pascals and kelvins "
            "of one balloon."
        )


def sounding_wind(
    owner: str,
    altitude: tuple[float, ...],
    speed: Iterable[float] | None,
    blows_from: Iterable[float] | None,
) -> Wind | None:
    """The wind of a balloon's levels, that fades out above them. Raises `InputError`."""
    if speed is None and blows_from is None:
        return None
    fix = "Give both for each level: m/s, and radians from north, clockwise."
    columns = {
        "altitude": altitude,
        "wind_speed": numbers(owner, "wind_speed", () if speed is None else speed, "m/s", fix),
        "wind_from": numbers(
            owner, "wind_from", () if blows_from is None else blows_from, "rad", fix
        ),
    }
    same_length(owner, columns, fix)
    for index, (fast, angle) in enumerate(
        zip(columns["wind_speed"], columns["wind_from"], strict=True)
    ):
        not_negative(owner, f"wind_speed[{index}]", fast, "m/s", fix)
        within(
            owner, f"wind_from[{index}]", angle, "rad", (-2.0 * pi, 2.0 * pi), "Degrees times deg."
        )
    pairs = list(zip(columns["wind_speed"], columns["wind_from"], strict=True))
    return Wind(
        altitude=(*altitude, altitude[-1] + FADES),
        eastward=(*(-fast * sin(angle) for fast, angle in pairs), 0.0),
        northward=(*(-fast * cos(angle) for fast, angle in pairs), 0.0),
    )


def _knots_above(air: AirTables, burst: float) -> Floats:
    """From the burst on: close where the temperature fades, then those of the air above."""
    near = np.arange(burst, burst + FADES + 0.5 * _APART, _APART)
    own = np.asarray(air.log_pressure.knots)
    inner = [knot for knot in own if np.abs(near - knot).min() > 0.05 * _APART]
    return np.unique(np.concatenate([near, [knot for knot in inner if knot > burst]]))


def _joined(altitude: Floats, values: Floats, above: SmoothTable, lift: float) -> SmoothTable:
    """A table through the levels, and from the last of them on the one above, lifted."""
    below = SmoothTable.through(x=altitude, y=values)
    high = with_slopes(above, np.asarray(above.knots))
    return SmoothTable(
        knots=(*below.knots[:-1], *above.knots),
        values=(*below.values[:-1], *(high[0] + lift)),
        slopes=(*below.slopes[:-1], *high[1]),
        curvatures=(*below.curvatures[:-1], *above.curvatures),
    )

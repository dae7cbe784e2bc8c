"""Units as people write them: "kN", "kPa deg", "J/(kg K)", "km^3/s^2"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import pi

from ascentopt.telling import nearest
from ascentopt.units import STANDARD_GRAVITY, deg, hour, minute

Dimension = tuple[int, int, int, int, int]
"""Powers of metre, kilogram, second, kelvin and radian; an angle is not a bare number here."""

_NONE = (0, 0, 0, 0, 0)
_LENGTH, _MASS, _TIME = (1, 0, 0, 0, 0), (0, 1, 0, 0, 0), (0, 0, 1, 0, 0)
_KELVIN, _ANGLE = (0, 0, 0, 1, 0), (0, 0, 0, 0, 1)
_ACCELERATION, _FORCE, _PRESSURE = (1, 0, -2, 0, 0), (1, 1, -2, 0, 0), (-1, 1, -2, 0, 0)
_ENERGY, _POWER = (2, 1, -2, 0, 0), (2, 1, -3, 0, 0)
_FOOT, _POUND = 0.3048, 0.45359237  # m and kg, by the international agreement of 1959

SYMBOLS: dict[str, tuple[float, Dimension]] = {
    "m": (1.0, _LENGTH), "km": (1e3, _LENGTH), "cm": (1e-2, _LENGTH), "mm": (1e-3, _LENGTH),
    "ft": (_FOOT, _LENGTH), "nmi": (1852.0, _LENGTH),
    "kg": (1.0, _MASS), "t": (1e3, _MASS), "tonne": (1e3, _MASS), "lb": (_POUND, _MASS),
    "s": (1.0, _TIME), "min": (minute, _TIME), "h": (hour, _TIME), "day": (24 * hour, _TIME),
    "K": (1.0, _KELVIN),
    "rad": (1.0, _ANGLE), "deg": (deg, _ANGLE), "°": (deg, _ANGLE), "rev": (2 * pi, _ANGLE),
    "g0": (STANDARD_GRAVITY, _ACCELERATION),
    "N": (1.0, _FORCE), "kN": (1e3, _FORCE), "MN": (1e6, _FORCE),
    "lbf": (_POUND * STANDARD_GRAVITY, _FORCE),
    "Pa": (1.0, _PRESSURE), "hPa": (1e2, _PRESSURE), "kPa": (1e3, _PRESSURE),
    "MPa": (1e6, _PRESSURE), "mbar": (1e2, _PRESSURE), "bar": (1e5, _PRESSURE),
    "psf": (_POUND * STANDARD_GRAVITY / _FOOT**2, _PRESSURE),
    "psi": (_POUND * STANDARD_GRAVITY / (_FOOT / 12) ** 2, _PRESSURE),
    "J": (1.0, _ENERGY), "kJ": (1e3, _ENERGY),
    "W": (1.0, _POWER), "kW": (1e3, _POWER), "MW": (1e6, _POWER),
    "%": (1e-2, _NONE), "1": (1.0, _NONE),
}  # fmt: skip

_TOKEN = re.compile(r"\s*(?:(?P<sign>[/*()])|(?P<symbol>[^\s/*()^\d]+\d*|1)(?P<power>\^-?\d)?)")
MINUS = "\N{MINUS SIGN}"
"""As texts that were typeset have it."""

_SPELLINGS = str.maketrans({"²": "^2", "³": "^3", "·": "*", "⋅": "*", MINUS: "-"})

_SPELT_OUT = {
    "ton": "t", "tonnes": "t", "pound": "lb", "lbs": "lb", "kilogram": "kg", "newton": "N",
    "kilonewton": "kN", "meter": "m", "metre": "m", "kilometer": "km", "kilometre": "km",
    "feet": "ft", "foot": "ft", "sec": "s", "second": "s", "minute": "min", "hr": "h", "hour": "h",
    "d": "day", "g": "g0", "gee": "g0", "degree": "deg", "radian": "rad", "pascal": "Pa",
    "kilopascal": "kPa", "kelvin": "K", "watt": "W", "percent": "%",
}  # fmt: skip


class UnknownUnit(ValueError):
    """A text that names no unit; `symbol` is the part of it that is not known."""

    def __init__(self, symbol: str) -> None:
        super().__init__(symbol)
        self.symbol = symbol


@dataclass(frozen=True)
class Unit:
    """A product of powers of units.

    Args:
        factors: size in SI base units and power of each, in the order they were written.
        dimension: of the whole.
    """

    factors: tuple[tuple[float, int], ...]
    dimension: Dimension

    def to_si(self, value: float) -> float:
        """The number in SI base units: multiplied and divided in the order of writing."""
        for size, power in self.factors:
            value = value * size**power if power > 0 else value / size**-power
        return value


@lru_cache(maxsize=256)
def unit_of(text: str) -> Unit:
    """The unit of that text. Raises `UnknownUnit`."""
    factors: list[tuple[float, int]] = []
    total = list(_NONE)
    for symbol, power in _powers(text):
        if symbol not in SYMBOLS:
            raise UnknownUnit(symbol)
        size, dimension = SYMBOLS[symbol]
        factors += [] if size == 1.0 else [(size, power)]
        total = [sum_ + power * one for sum_, one in zip(total, dimension, strict=True)]
    a, b, c, d, e = total
    return Unit(tuple(factors), (a, b, c, d, e))


def nearest_symbol(symbol: str, dimension: Dimension) -> str | None:
    """The known unit that an unknown one may stand for, of that dimension if there is any."""
    fitting = [name for name, (_, found) in SYMBOLS.items() if found == dimension]
    return _nearest(symbol, fitting) or _nearest(symbol, [*SYMBOLS])


def _powers(text: str) -> list[tuple[str, int]]:
    """Symbols and their powers. A division holds for the next factor, or the next bracket."""
    found: list[tuple[str, int]] = []
    plain = text.translate(_SPELLINGS).replace("**", "^")
    divided, within, place = False, 0, 0
    while place < len(plain.rstrip()):
        token = _TOKEN.match(plain, place)
        if token is None:
            raise UnknownUnit(text)
        place = token.end()
        match token["sign"]:
            case "/" if within == 0 and not divided:
                divided = True
            case "/":
                raise UnknownUnit(text)
            case "(":
                within += 1
            case ")":
                within, divided = within - 1, False
            case None:
                symbol, power = _split(token["symbol"], token["power"])
                found.append((symbol, -power if divided else power))
                divided = divided and within > 0
        if within not in (0, 1):
            raise UnknownUnit(text)
    if within or divided:
        raise UnknownUnit(text)
    return found


def _split(symbol: str, power: str | None) -> tuple[str, int]:
    """A power may stand without a sign of its own ("m2"); "g0" is a name."""
    if power is not None:
        return symbol, int(power[1:])
    stem = symbol.rstrip("0123456789")
    if symbol in SYMBOLS or not stem or len(symbol) - len(stem) != 1:
        return symbol, 1
    return stem, int(symbol[-1])


def _nearest(symbol: str, names: list[str]) -> str | None:
    """One that is spelt out, or differs in capitals, in an s, or a little."""
    by_small = {name.lower(): name for name in names}
    by_small |= {spelt: name for spelt, name in _SPELT_OUT.items() if name in names}
    small = symbol.lower().removesuffix(".")
    for tried in (small, small.removesuffix("s")):
        if tried in by_small:
            return by_small[tried]
    near = nearest(small, (name for name in by_small if len(name) > 1))
    return None if near is None else by_small[near]

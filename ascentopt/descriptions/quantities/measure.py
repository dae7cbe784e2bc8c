"""What is measured in descriptions, and how people write it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Measure:
    """Something that is measured.

    Args:
        words: what it is.
        written: units that people write it in, the likeliest first and that of the SI among them.
        example: a number with its unit.
    """

    words: str
    written: tuple[str, ...]
    example: str


MEASURES = {
    "": Measure("a number without a unit", ("",), "0.3"),
    "m": Measure("a length", ("km", "m"), "300 km"),
    "m^2": Measure("an area", ("m^2",), "4.5 m^2"),
    "kg": Measure("a mass", ("t", "kg"), "62 t"),
    "s": Measure("a time", ("s",), "3 s"),
    "K": Measure("a temperature", ("K",), "288 K"),
    "rad": Measure("an angle", ("deg", "rad"), "-12 deg"),
    "rad/s": Measure("a rate of turning", ("deg/s", "deg/day", "rad/s"), "2 deg/s"),
    "1/rad": Measure("a slope per angle", ("1/rad", "1/deg"), "2.5 1/rad"),
    "m/s": Measure("a speed", ("m/s",), "30 m/s"),
    "m/s^2": Measure("an acceleration", ("g0", "m/s^2"), "4.5 g0"),
    "N": Measure("a force", ("kN", "MN", "N"), "1150 kN"),
    "Pa": Measure("a pressure", ("kPa", "Pa"), "40 kPa"),
    "Pa rad": Measure("a pressure times an angle", ("kPa deg", "Pa rad"), "150 kPa deg"),
    "W/m^2": Measure("a flux of heat", ("W/m^2",), "1135 W/m^2"),
    "kg/m^3": Measure("a density", ("kg/m^3",), "1.225 kg/m^3"),
    "J/(kg K)": Measure("a specific gas constant", ("J/(kg K)",), "287 J/(kg K)"),
    "m^3/s^2": Measure(
        "a gravitational parameter", ("km^3/s^2", "m^3/s^2"), "398600.4418 km^3/s^2"
    ),
}
"""By the unit of the SI."""

"""Scatter that only a slip makes: per cent for shares, degrees for radians, mostly.

The bounds are common practice, no source; each is far from what flies. Standard deviations.
"""

from __future__ import annotations

from ascentopt.arguments.sense import Sense
from ascentopt.units import deg


def _per_cent(value: float) -> str:
    return f"It looks like per cent: write {value / 100.0:g}."


def _share(quantity: str, usual: float) -> Sense:
    return Sense(quantity=quantity, unit="", high=usual, if_high=_per_cent)


# Engines of one make differ by a per cent of their thrust, solid motors by two or three with the
# warmth of the grain.
THRUST = _share("engines of one make differ by 0.01, solid motors by 0.03", 0.08)
ISP = _share("engines of one make differ by 0.003, solid motors by 0.01", 0.03)
DRY_MASS = _share("stages of one make differ by 0.01 or less", 0.1)
PROPELLANT = _share("loading is exact to 0.005 or better", 0.03)
DRAG = _share("drag is known to 0.05 to 0.1", 0.3)

# Days differ from the mean density by some per cent below 20 km, and by 0.2 at 80 km.
DENSITY = _share("days differ by 0.03 at the ground, by 0.2 where the air is thin", 0.3)

DENSITY_PROFILE = Sense(
    quantity="days differ by 0.03 at the ground, by 0.2 where the air is thin",
    unit="",
    high=0.3,
    most=1.0,
    if_high=_per_cent,
)

TIME = Sense(
    quantity="valves and bolts act within a second",
    unit="s",
    high=10.0,
    most=100.0,
    if_high=lambda v: f"It looks like milliseconds: write {v / 1e3:g}.",
)

# Platforms are aligned to minutes of arc, by hand to a degree.
ALIGNMENT = Sense(
    quantity="platforms are aligned to minutes of arc, by hand to a degree",
    unit="rad",
    high=2.0 * deg,
    most=20.0 * deg,
    if_high=lambda v: f"It looks like degrees: write {v:g} * deg.",
)

# The fastest jets of the Earth blow with little more than 100 m/s.
WIND_SCATTER = Sense(
    quantity="winds in the jet stream scatter by 25",
    unit="m/s",
    high=60.0,
    most=200.0,
    if_high=lambda v: f"It looks like km/h: write {v:g} / 3.6.",
)

CORRELATION_LENGTH = Sense(
    quantity="winds a few kilometres apart still have to do with each other",
    unit="m",
    least=10.0,
    low=100.0,
    high=2e4,
    if_low=lambda v: f"It looks like km: write {v:g} * km.",
)

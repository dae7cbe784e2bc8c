"""Numbers of a mission that only a slip makes: wrong units, mostly.

The bounds are common practice, no source, unless an argument stands beside them.
"""

from __future__ import annotations

from math import pi

from ascentopt.arguments.sense import Sense
from ascentopt.units import deg, km, kPa

# Beyond 45 degrees a limit keeps nothing whole: 2, 3 and 6 are degrees.
ANGLE_OF_ATTACK = Sense(
    quantity="launchers bear some 10 degrees",
    unit="rad",
    high=pi / 4,
    if_high=lambda v: f"It looks like degrees: write {v:g} * deg.",
)

# Launchers turn by a few degrees a second; a limit of 60 is none.
PITCH_RATE = Sense(
    quantity="launchers turn by some 3 deg/s",
    unit="rad/s",
    high=60 * deg,
    if_high=lambda v: f"It looks like degrees per second: write {v:g} * deg.",
)

# Slender launchers bear 100 to 300 kPa deg, stout ones ten times that. A gust of 5 m/s at 400 m/s
# and 20 kPa makes 14: what bears no more bears no wind. That is 262 Pa rad, and numbers of kPa deg
# are below it.
Q_ALPHA = Sense(
    quantity="launchers bear some 150 kPa deg",
    unit="Pa rad",
    low=15 * kPa * deg,
    high=5000 * kPa * deg,
    if_low=lambda v: f"It looks like kPa deg: write {v:g} * kPa * deg.",
    if_high=lambda v: f"It looks like Pa deg: write {v:g} * deg.",
)

# Thrust that lifts off gives more than the weight on the pad: a limit below that forbids the start.
AXIAL_ACCELERATION_IN_WEIGHTS = Sense(
    quantity="what lifts off gains more than its weight",
    unit="weights on the pad",
    least=1.0,
    low=1.0,
)

# Of half the heat capacity ratio times the pressure on the ground, which is the dynamic pressure at
# the speed of sound there: 71 kPa on Earth, where launchers see 20 to 60 kPa. A hundredth of it is
# kept by a climb as slow as 30 m/s to 15 km, a thousandth by one of 10 m/s: that burns more by
# hovering than any orbit takes.
DYNAMIC_PRESSURE_SHARE = Sense(
    quantity="of that at the speed of sound on the ground, launchers see a third",
    unit="",
    least=1e-3,
    low=1e-2,
)

# Where no air sets a floor: the ground itself is rough by a thousandth of the radius.
ALTITUDE_IN_RADII = Sense(
    quantity="the ground is rough by a thousandth", unit="radii of the body", low=1e-3, high=500.0
)

# Twice the impulsive delta-v is more than any length of the burn asks for.
ALLOWANCE = Sense(
    quantity="some per cent of the impulsive delta-v",
    unit="",
    high=1.0,
    if_high=lambda v: f"It looks like per cent: write {v / 100:g}.",
)

# A metre is no rise: the vehicle is longer than that. Launchers turn over within 500 m, and 30 m
# taken for kilometres are 30 km.
VERTICAL_RISE = Sense(
    quantity="launchers rise by 50 to 500 m",
    unit="m",
    low=1.0,
    high=20 * km,
    if_low=lambda v: f"It looks like km: write {v:g} * km.",
    if_high=lambda v: f"It looks like metres taken for km: write {v / 1e3:g}.",
)

# Where there is air: above one scale height, 8 km on Earth, six tenths of it are below, and a
# vehicle that has stood on its thrust so far, gaining half its weight, has lost half a kilometre a
# second to that.
RISE_IN_SCALE_HEIGHTS = Sense(
    quantity="launchers turn over within a tenth", unit="scale heights of the air", high=1.0
)

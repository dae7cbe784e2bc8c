"""Numbers of a body and its air that only a slip makes: wrong units, mostly.

The bounds are common practice, no source, unless an argument stands beside them. Bodies may be much
smaller and denser than any that is known: they are games that people learn with.
"""

from __future__ import annotations

from math import exp

from ascentopt.arguments.sense import Sense

GRAVITATIONAL_CONSTANT = 6.6743e-11
"""m^3/(kg s^2), CODATA 2018."""

# From a rock to the Sun, which has 7e8; without curvature in a thought experiment.
RADIUS = Sense(
    quantity="from rocks to the Sun", unit="m", least=10.0, low=100.0, high=1e9, most=1e30
)

# Comets have 500, osmium 22600; a toy planet of 600 km with the gravity of the Earth 58000, and one
# of 10 km 3.5 million. A radius in kilometres makes it a thousand million times too much.
MEAN_DENSITY = Sense(
    quantity="known bodies have 500 to 10000",
    unit="kg/m^3",
    least=0.01,
    low=1.0,
    most=1e7,
    high=5e6,
)

# The Sun has 274, and no rocket leaves that.
SURFACE_GRAVITY = Sense(quantity="the Sun has 274", unit="m/s^2", high=300.0, most=1000.0)

# A stone is thrown with 40 m/s: where that is an orbit no rocket is needed. Mass and radius both in
# kilometres leave the density as it is and make the speed a thousandth: 2 to 42 from the Moon to
# Jupiter. Ceres has 360, a toy planet of 10 km with the gravity of the Earth 300.
ORBITAL_SPEED = Sense(quantity="a stone is thrown with 40 m/s", unit="m/s", low=50.0)

# In equilibrium pressure over density is gravity times the scale height. It is at least the gas
# constant times the boiling point: 9000 J/kg for helium, 10000 and more for all others.
HYDROSTATIC = Sense(
    quantity="gravity times scale height, the gas constant times the temperature of a gas at rest",
    unit="J/kg",
    least=1e3,
    low=2e3,
)

# Air that a tenth of the radius thins little is not bound to the body.
SCALE_HEIGHT_IN_RADII = Sense(
    quantity="air is a thin shell", unit="radii of the body", high=0.2, most=1.0
)

# Cold and heavy gases have 120, air on Earth 340. Pressures in hPa make it a tenth of that.
SPEED_OF_SOUND = Sense(
    quantity="cold and heavy gases have 120", unit="m/s", least=20.0, low=80.0, high=2000.0
)

# The ground of Venus has 65.
GROUND_DENSITY = Sense(
    quantity="the ground of Venus has 65",
    unit="kg/m^3",
    high=100.0,
    most=2000.0,
    if_high=lambda v: f"It looks like g/m^3: write {v / 1e3:g}.",
)

# 5/3 is that of single atoms, and no gas has more.
HEAT_CAPACITY_RATIO = Sense(
    quantity="single atoms have 5/3", unit="", high=1.7, most=1.7,
    if_high=lambda v: "Give 1.4 for air, 1.3 for carbon dioxide, 5/3 for helium.",
)  # fmt: skip

# Of the air on the ground, at the ceiling above which orbits are free of drag: 1e-6 on Earth.
DENSITY_AT_CEILING = Sense(
    quantity="1e-6 on Earth", unit="of that at altitude zero", high=0.01, most=0.5
)

# The fastest winds known, on Neptune, reach 600; a jet stream has 300 or 400 of the km/h.
WIND_SPEED = Sense(
    quantity="jet streams reach 110, winds on Neptune 600",
    unit="m/s",
    high=600.0,
    most=2000.0,
    if_high=lambda v: f"It looks like km/h: write {v:g} / 3.6.",
)

# A profile that ends below a hundred metres is one of a mast, not of an ascent.
WIND_TOP = Sense(
    quantity="soundings reach 10 km or more",
    unit="m",
    low=100.0,
    if_low=lambda v: f"It looks like km: write {v:g} * km.",
)

# Of its own speed of sound: jet streams have 0.4, winds on Titan and Saturn 0.6, on Neptune 1. A
# body's winds are driven by the warmth of its air, which its speed of sound measures.
WIND_MACH = Sense(
    quantity="jet streams have 0.4, winds on Neptune 1",
    unit="of the speed of sound there",
    high=1.05,
)

# A record summer or winter day is 40 K off a standard at the ground, and the polar night as much
# high up; 200 to 300 are temperatures.
TEMPERATURE_OFFSET = Sense(
    quantity="hot and cold days differ by 40 from a standard",
    unit="K",
    low=-100.0,
    high=100.0,
    if_low=lambda v: "Give by how much it is colder, not a temperature.",
    if_high=lambda v: "It looks like a temperature: give by how much it is warmer.",
)

# Columns of two digits are off by 5 % each at most. Pressure and density make 10 % at a level, and
# 20 % from one level to the next. Humid air differs by 2 % from dry.
GAS_CONSTANT_STEP = Sense(
    quantity="a gas keeps it, two digits leave a fifth",
    unit="times that at the level below",
    low=exp(-0.2),
    high=exp(0.2),
)

MIXED_PRESSURE = 1.0
"""Pa. Above it, gases are stirred and so one gas; on Earth, Mars and Venus they part below 0.1."""

PARTING = 0.7
"""Most that the gas constant grows by in thin air, in e-folds for each e-fold of pressure.

Light gases fall off less than heavy ones. On Earth it is 0.05 up to 500 km, and 0.6 at 750 km where
helium and hydrogen take over (U.S. Standard Atmosphere, 1976).
"""

# In equilibrium it is 1. Coarse tables miss the weight between two levels by a third, if they are
# joined in the logarithm; feet taken for metres make it 0.3, hectopascals 0.01.
PRESSURE_OVER_WEIGHT = Sense(
    quantity="air at rest carries what is above it", unit="times that weight", low=0.5, high=2.0
)

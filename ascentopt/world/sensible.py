"""Numbers of a body and its air that only a slip makes: wrong units, mostly.

The bounds are common practice, no source, unless an argument stands beside them. Bodies may be much
smaller and denser than any that is known: they are games that people learn with.
"""

from __future__ import annotations

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

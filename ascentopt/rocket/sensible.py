"""Numbers of a rocket that only a slip makes: wrong units, mostly.

The bounds are common practice, no source, unless one is named; each is far from what flies.
"""

from __future__ import annotations

from ascentopt.arguments.sense import Sense
from ascentopt.units import STANDARD_GRAVITY

# Hydrogen and oxygen give 465 s; 542 s was measured once, with lithium, fluorine and hydrogen. A
# nuclear reactor heats hydrogen to some 900 s. What has more is electric, whose thrust lifts
# nothing. Exhaust speeds in m/s are 1500 to 5000. At the low end cold gas has 40 s or more, and
# exhaust speeds in km/s are 1.5 to 5.
SPECIFIC_IMPULSE = Sense(
    quantity="chemical propellants give 500 s or less, cold gas 40 s",
    unit="s",
    low=20.0,
    high=550.0,
    most=1000.0,
    ideal=1e4,
    if_low=lambda v: f"It looks like km/s: {v:g} km/s is {v * 1e3 / STANDARD_GRAVITY:.1f} s.",
    if_high=lambda v: f"It looks like m/s: {v:g} m/s is {v / STANDARD_GRAVITY:.1f} s.",
)

# Launchers leave the pad with 1.2 to 3 g; upper stages by themselves, and the briskest missiles,
# stay below 100 g, and none reached 500. Tonnes under newtons give 1000 and more.
OWN_ACCELERATION = Sense(
    quantity="full thrust over the mass with all propellant",
    unit="m/s^2",
    high=1e3,
    most=5e3,
    ideal=2e5,
)

# Hours are what the weakest upper stages burn; days of it need a thousandth of their thrust, and
# are what kilonewtons give that are read as newtons. In orbit so little may be meant.
BURN_TIME = Sense(quantity="propellant over the flow at full thrust", unit="s", high=2e4)

# The lightest tanks with engines weigh a fortieth of what they hold.
EMPTY_SHARE = Sense(
    quantity="lightest stages have 0.025", unit="", least=1e-3, low=0.005, high=50.0
)

# Launchers carry a hundredth or more, the smallest that reached an orbit a thousandth. Tonnes read
# as kilograms are a hundred-thousandth. Nothing at all is a test flight.
PAYLOAD_SHARE = Sense(quantity="the smallest launchers carry a thousandth", unit="", low=1e-4)

# Bluff bodies have 2 at most, of their own cross-section; a smaller reference area gives more.
DRAG_COEFFICIENT = Sense(
    quantity="a flat plate has 2",
    unit="",
    high=5.0,
    if_high=lambda v: f"It looks like per cent: write {v / 100:g}; or refer it to a larger area.",
)

# Mean density times length: a model of 300 kg/m^3 and half a metre has 150, a launcher of
# 1000 kg/m^3 and 30 m has 30000, solid steel of that length 240000.
MASS_OVER_AREA = Sense(
    quantity="mass at lift-off over the reference area",
    unit="kg/m^2",
    least=5.0,
    low=50.0,
    high=5e6,
    if_low=lambda v: "The area looks too large: give square metres.",
    if_high=lambda v: "The area looks too small: give square metres.",
)

# Users' guides promise 1135 W/m^2; the sun alone gives 1361.
HEATING = Sense(
    quantity="users' guides promise 1135 W/m^2",
    unit="W/m^2",
    low=20.0,
    if_low=lambda v: f"It looks like kW/m^2: write {v:g} * kW.",
)

# Stages light seconds after they are set free, small ones after minutes of coasting up. Such a
# coast is less than half a lowest revolution, which takes 42 min around what is as dense as the
# Earth.
IGNITION_DELAY = Sense(
    quantity="stages light within seconds or minutes",
    unit="s",
    high=1800.0,
    if_high=lambda v: f"It looks like ms: write {v / 1e3:g}.",
)

# Grain burns by millimetres to a centimetre a second. Large motors burn for two minutes, and those
# that burn from their end, a few metres long, for some hundred seconds more.
SOLID_BURN_TIME = Sense(
    quantity="solid motors burn for seconds to minutes",
    unit="s",
    high=1000.0,
    if_high=lambda v: f"It looks like ms: write times over 1000, to {v / 1e3:g}.",
)

# Launchers have 1e-3 to 2e-2. Tonnes read as kilograms are a thousandth of that, and what is a
# third of all that lifts off leaves no rocket for a payload that it covers.
FAIRING_SHARE = Sense(quantity="launchers have 0.001 to 0.02", unit="", low=3e-5, high=1.0 / 3.0)

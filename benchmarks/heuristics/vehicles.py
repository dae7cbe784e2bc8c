"""Invented vehicles; thrust over weight is that at lift-off on the body they are flown from."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import MN, kN, tonne

_SLENDER = ao.DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)


def _air(area: float) -> ao.Aerodynamics:
    return ao.Aerodynamics(reference_area=area, drag_coefficient=_SLENDER)


GODWIT = ao.Vehicle(
    name="Godwit",  # large and slow: 1.2 times its weight
    payload_mass=14 * tonne,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=380 * tonne,
            dry_mass=26 * tonne,
            engine=ao.Engine(
                vacuum_thrust=7.2 * MN, vacuum_isp=318.0, sea_level_isp=288.0, min_throttle=0.6
            ),
        ),
        ao.Stage(
            name="second",
            propellant_mass=105 * tonne,
            dry_mass=7 * tonne,
            engine=ao.Engine(vacuum_thrust=1.1 * MN, vacuum_isp=345.0),
            restarts=2,
            ignition_delay=4.0,
        ),
    ),
    fairing=ao.Fairing(mass=1.8 * tonne),
    aerodynamics=_air(13.0),
)

CURLEW = ao.Vehicle(
    name="Curlew",  # large and brisk: 1.7 times its weight
    payload_mass=7 * tonne,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=270 * tonne,
            dry_mass=20 * tonne,
            engine=ao.Engine(vacuum_thrust=7.2 * MN, vacuum_isp=312.0, sea_level_isp=284.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=80 * tonne,
            dry_mass=6 * tonne,
            engine=ao.Engine(vacuum_thrust=1.4 * MN, vacuum_isp=348.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    fairing=ao.Fairing(mass=1.5 * tonne),
    aerodynamics=_air(11.0),
)

AVOCET = ao.Vehicle(
    name="Avocet",  # two solid boosters beside a core; 1.6 times its weight
    payload_mass=5 * tonne,
    stages=(
        ao.Stage(
            name="core",
            propellant_mass=120 * tonne,
            dry_mass=10 * tonne,
            engine=ao.Engine(vacuum_thrust=1.7 * MN, vacuum_isp=330.0, sea_level_isp=290.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=22 * tonne,
            dry_mass=2.4 * tonne,
            engine=ao.Engine(vacuum_thrust=260 * kN, vacuum_isp=440.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    boosters=(
        ao.BoosterGroup(
            name="solids",
            count=2,
            propellant_mass=36 * tonne,
            dry_mass=4.5 * tonne,
            engine=ao.Engine(vacuum_thrust=1.2 * MN, vacuum_isp=275.0, sea_level_isp=250.0),
        ),
    ),
    fairing=ao.Fairing(mass=1.0 * tonne),
    aerodynamics=_air(12.0),
)

RUFF = ao.Vehicle(
    name="Ruff",  # a solid first stage, a liquid second; 2 times its weight
    payload_mass=300.0,
    stages=(
        ao.Stage(
            name="motor",
            propellant_mass=24 * tonne,
            dry_mass=2.2 * tonne,
            engine=ao.SolidMotor(
                time=(0.0, 4.0, 40.0, 62.0, 70.0),
                vacuum_thrust=(820 * kN, 1000 * kN, 1030 * kN, 820 * kN, 250 * kN),
                vacuum_isp=278.0,
                sea_level_isp=248.0,
            ).scaled_to(24 * tonne),
        ),
        ao.Stage(
            name="second",
            propellant_mass=8.2 * tonne,
            dry_mass=0.6 * tonne,
            engine=ao.Engine(vacuum_thrust=105 * kN, vacuum_isp=338.0),
            restarts=2,
            ignition_delay=2.0,
        ),
    ),
    fairing=ao.Fairing(mass=110.0),
    aerodynamics=_air(2.0),
)

STINT = ao.Vehicle(
    name="Stint",  # off Mars in two stages; 2.2 times its weight there
    payload_mass=300.0,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=2.6 * tonne,
            dry_mass=0.35 * tonne,
            engine=ao.Engine(vacuum_thrust=40 * kN, vacuum_isp=325.0, exit_area=0.15),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=1.5 * tonne,
            dry_mass=0.25 * tonne,
            engine=ao.Engine(vacuum_thrust=12 * kN, vacuum_isp=330.0),
            restarts=1,
            ignition_delay=1.0,
        ),
    ),
    aerodynamics=_air(2.5),
)

WHIMBREL = ao.Vehicle(
    name="Whimbrel",  # off Mars in one stage; 1.5 times its weight there
    payload_mass=0.4 * tonne,
    stages=(
        ao.Stage(
            name="single",
            propellant_mass=14 * tonne,
            dry_mass=1.9 * tonne,
            engine=ao.Engine(vacuum_thrust=92 * kN, vacuum_isp=365.0, exit_area=0.4),
            restarts=1,
        ),
    ),
    aerodynamics=_air(5.0),
)

SANDERLING = ao.Vehicle(
    name="Sanderling",  # off the Moon in one stage; 3.3 times its weight there
    payload_mass=1 * tonne,
    stages=(
        ao.Stage(
            name="ascent",
            propellant_mass=5.2 * tonne,
            dry_mass=1.3 * tonne,
            engine=ao.Engine(vacuum_thrust=40 * kN, vacuum_isp=320.0),
            restarts=1,
        ),
    ),
)

DOTTEREL = ao.Vehicle(
    name="Dotterel",  # off the Moon in two stages; 1.4 times its weight there
    payload_mass=0.8 * tonne,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=1.8 * tonne,
            dry_mass=0.5 * tonne,
            engine=ao.Engine(vacuum_thrust=12 * kN, vacuum_isp=315.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=1.6 * tonne,
            dry_mass=0.4 * tonne,
            engine=ao.Engine(vacuum_thrust=6 * kN, vacuum_isp=320.0),
            restarts=1,
        ),
    ),
)

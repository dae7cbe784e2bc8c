"""Invented vehicles for the Earth; thrust over weight is that at lift-off."""

from __future__ import annotations

from ascentopt.rocket import (
    BoosterGroup,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
)
from ascentopt.scenarios.slender import slender
from ascentopt.units import MN, kN, tonne

GODWIT = Vehicle(
    name="Godwit",  # large and slow: 1.2 times its weight
    payload_mass=14 * tonne,
    stages=(
        Stage(
            name="first",
            propellant_mass=380 * tonne,
            dry_mass=26 * tonne,
            engine=Engine(
                vacuum_thrust=7.2 * MN, vacuum_isp=318.0, sea_level_isp=288.0, min_throttle=0.6
            ),
        ),
        Stage(
            name="second",
            propellant_mass=105 * tonne,
            dry_mass=7 * tonne,
            engine=Engine(vacuum_thrust=1.1 * MN, vacuum_isp=345.0),
            restarts=2,
            ignition_delay=4.0,
        ),
    ),
    fairing=Fairing(mass=1.8 * tonne),
    aerodynamics=slender(13.0),
)

CURLEW = Vehicle(
    name="Curlew",  # large and brisk: 1.7 times its weight
    payload_mass=7 * tonne,
    stages=(
        Stage(
            name="first",
            propellant_mass=270 * tonne,
            dry_mass=20 * tonne,
            engine=Engine(vacuum_thrust=7.2 * MN, vacuum_isp=312.0, sea_level_isp=284.0),
        ),
        Stage(
            name="second",
            propellant_mass=80 * tonne,
            dry_mass=6 * tonne,
            engine=Engine(vacuum_thrust=1.4 * MN, vacuum_isp=348.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    fairing=Fairing(mass=1.5 * tonne),
    aerodynamics=slender(11.0),
)

AVOCET = Vehicle(
    name="Avocet",  # two solid boosters beside a core; 1.6 times its weight
    payload_mass=5 * tonne,
    stages=(
        Stage(
            name="core",
            propellant_mass=120 * tonne,
            dry_mass=10 * tonne,
            engine=Engine(vacuum_thrust=1.7 * MN, vacuum_isp=330.0, sea_level_isp=290.0),
        ),
        Stage(
            name="upper",
            propellant_mass=22 * tonne,
            dry_mass=2.4 * tonne,
            engine=Engine(vacuum_thrust=260 * kN, vacuum_isp=440.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    boosters=(
        BoosterGroup(
            name="solids",
            count=2,
            propellant_mass=36 * tonne,
            dry_mass=4.5 * tonne,
            engine=Engine(vacuum_thrust=1.2 * MN, vacuum_isp=275.0, sea_level_isp=250.0),
        ),
    ),
    fairing=Fairing(mass=1.0 * tonne),
    aerodynamics=slender(12.0),
)

RUFF = Vehicle(
    name="Ruff",  # a solid first stage, a liquid second; 2 times its weight
    payload_mass=300.0,
    stages=(
        Stage(
            name="motor",
            propellant_mass=24 * tonne,
            dry_mass=2.2 * tonne,
            engine=SolidMotor(
                time=(0.0, 4.0, 40.0, 62.0, 70.0),
                vacuum_thrust=(820 * kN, 1000 * kN, 1030 * kN, 820 * kN, 250 * kN),
                vacuum_isp=278.0,
                sea_level_isp=248.0,
            ).scaled_to(24 * tonne),
        ),
        Stage(
            name="second",
            propellant_mass=8.2 * tonne,
            dry_mass=0.6 * tonne,
            engine=Engine(vacuum_thrust=105 * kN, vacuum_isp=338.0),
            restarts=2,
            ignition_delay=2.0,
        ),
    ),
    fairing=Fairing(mass=110.0),
    aerodynamics=slender(2.0),
)

PHALAROPE = Vehicle(
    name="Phalarope",  # small: ten tonnes of propellant; 1.7 times its weight
    payload_mass=150.0,
    stages=(
        Stage(
            name="first",
            propellant_mass=10 * tonne,
            dry_mass=0.95 * tonne,
            engine=Engine(vacuum_thrust=230 * kN, vacuum_isp=315.0, sea_level_isp=280.0),
        ),
        Stage(
            name="second",
            propellant_mass=2.4 * tonne,
            dry_mass=0.22 * tonne,
            engine=Engine(vacuum_thrust=36 * kN, vacuum_isp=345.0),
            restarts=1,
            ignition_delay=2.0,
        ),
    ),
    fairing=Fairing(mass=50.0),
    aerodynamics=slender(1.3),
)

TURNSTONE = Vehicle(
    name="Turnstone",  # a weak upper stage; 1.4 times its weight
    payload_mass=1.1 * tonne,
    stages=(
        Stage(
            name="first",
            propellant_mass=62.0 * tonne,
            dry_mass=4.8 * tonne,
            engine=Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0),
        ),
        Stage(
            name="second",
            propellant_mass=11.5 * tonne,
            dry_mass=0.95 * tonne,
            engine=Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    fairing=Fairing(mass=320.0),
    aerodynamics=slender(4.5),
)

SNIPE = Vehicle(
    name="Snipe",  # a strong first stage under a weak second; 2.7 times its weight
    payload_mass=400.0,
    stages=(
        Stage(
            name="first",
            propellant_mass=24 * tonne,
            dry_mass=1.9 * tonne,
            engine=Engine(vacuum_thrust=820 * kN, vacuum_isp=300.0, sea_level_isp=270.0),
        ),
        Stage(
            name="second",
            propellant_mass=3.5 * tonne,
            dry_mass=0.4 * tonne,
            engine=Engine(vacuum_thrust=30 * kN, vacuum_isp=340.0),
            restarts=1,
            ignition_delay=2.0,
        ),
    ),
    fairing=Fairing(mass=90.0),
    aerodynamics=slender(2.0),
)

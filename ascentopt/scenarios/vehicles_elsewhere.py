"""Invented vehicles for other bodies; thrust over weight is that at lift-off there."""

from __future__ import annotations

from ascentopt.rocket import (
    Aerodynamics,
    Engine,
    Stage,
    Vehicle,
)
from ascentopt.scenarios.slender import slender
from ascentopt.units import kN, tonne

STINT = Vehicle(
    name="Stint",  # off Mars in two stages; 2.2 times its weight there
    payload_mass=300.0,
    stages=(
        Stage(
            name="lower",
            propellant_mass=2.6 * tonne,
            dry_mass=0.35 * tonne,
            engine=Engine(vacuum_thrust=40 * kN, vacuum_isp=325.0, exit_area=0.15),
        ),
        Stage(
            name="upper",
            propellant_mass=1.5 * tonne,
            dry_mass=0.25 * tonne,
            engine=Engine(vacuum_thrust=12 * kN, vacuum_isp=330.0),
            restarts=1,
            ignition_delay=1.0,
        ),
    ),
    aerodynamics=slender(2.5),
)

WHIMBREL = Vehicle(
    name="Whimbrel",  # off Mars in one stage; 1.5 times its weight there
    payload_mass=0.4 * tonne,
    stages=(
        Stage(
            name="single",
            propellant_mass=14 * tonne,
            dry_mass=1.9 * tonne,
            engine=Engine(vacuum_thrust=92 * kN, vacuum_isp=365.0, exit_area=0.4),
            restarts=1,
        ),
    ),
    aerodynamics=slender(5.0),
)

SANDERLING = Vehicle(
    name="Sanderling",  # off the Moon in one stage; 3.3 times its weight there
    payload_mass=1 * tonne,
    stages=(
        Stage(
            name="ascent",
            propellant_mass=5.2 * tonne,
            dry_mass=1.3 * tonne,
            engine=Engine(vacuum_thrust=40 * kN, vacuum_isp=320.0),
            restarts=1,
        ),
    ),
)

DOTTEREL = Vehicle(
    name="Dotterel",  # off the Moon in two stages; 1.4 times its weight there
    payload_mass=0.8 * tonne,
    stages=(
        Stage(
            name="lower",
            propellant_mass=1.8 * tonne,
            dry_mass=0.5 * tonne,
            engine=Engine(vacuum_thrust=12 * kN, vacuum_isp=315.0),
        ),
        Stage(
            name="upper",
            propellant_mass=1.6 * tonne,
            dry_mass=0.4 * tonne,
            engine=Engine(vacuum_thrust=6 * kN, vacuum_isp=320.0),
            restarts=1,
        ),
    ),
)

KNOT = Vehicle(
    name="Knot",  # for a small planet with thick air; 1.6 times its weight there
    payload_mass=1.4 * tonne,
    stages=(
        Stage(
            name="lower",
            propellant_mass=8.5 * tonne,
            dry_mass=1.6 * tonne,
            engine=Engine(vacuum_thrust=205 * kN, vacuum_isp=305.0, sea_level_isp=265.0),
        ),
        Stage(
            name="upper",
            propellant_mass=3.6 * tonne,
            dry_mass=0.8 * tonne,
            engine=Engine(vacuum_thrust=55 * kN, vacuum_isp=345.0),
            restarts=2,
        ),
    ),
    aerodynamics=slender(2.0),
)


def _for_small_planet(name: str, lower: Stage, upper: Stage) -> Vehicle:
    return Vehicle(
        name=name,
        payload_mass=900.0,
        stages=(lower, upper),
        aerodynamics=Aerodynamics(reference_area=1.3, drag_coefficient=0.3),
    )


_DUNLIN_LOWER = Stage(
    name="lower",
    propellant_mass=7.5 * tonne,
    dry_mass=1.3 * tonne,
    engine=Engine(vacuum_thrust=190 * kN, vacuum_isp=312.0, sea_level_isp=272.0),
)
_DUNLIN_UPPER = Stage(
    name="upper",
    propellant_mass=2.0 * tonne,
    dry_mass=0.45 * tonne,
    engine=Engine(vacuum_thrust=35 * kN, vacuum_isp=340.0),
)

# Kicked by 5 degrees at 50 m/s its first stage alone goes beyond the orbit; both burn once.
DUNLIN = _for_small_planet("Dunlin", _DUNLIN_LOWER, _DUNLIN_UPPER)

REDSHANK = _for_small_planet(
    "Redshank",  # its first stage all but reaches the orbit alone, and can be lit again
    Stage(
        name="lower",
        propellant_mass=11 * tonne,
        dry_mass=1.3 * tonne,
        engine=Engine(vacuum_thrust=260 * kN, vacuum_isp=312.0, sea_level_isp=272.0),
        restarts=1,
    ),
    _DUNLIN_UPPER,
)

LAPWING = _for_small_planet(
    "Lapwing",  # its upper stage burns longer than a coast lasts
    _DUNLIN_LOWER,
    Stage(
        name="upper",
        propellant_mass=2.0 * tonne,
        dry_mass=0.45 * tonne,
        engine=Engine(vacuum_thrust=6 * kN, vacuum_isp=340.0),
    ),
)

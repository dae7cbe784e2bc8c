"""Invented rockets that are quick to size, and their missions."""

from __future__ import annotations

from functools import cache

import ascentopt as ao
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.units import deg, km, kN, kPa, tonne
from tests.studies.sizing.staging import Staging, least_lift_off_mass

ISP = (400.0, 350.0, 300.0)
STRUCTURAL = (0.10, 0.15, 0.20)
PAYLOAD = 5.0 * tonne
SPEED = 10.0 * km
NAMES = ("first", "second", "third")


@cache
def slab() -> ao.Mission:
    """From a bare body without spin, of such a mass that impulses for the orbit come to `SPEED`."""
    guess = 5e14
    per_unit = SPEED / impulsive_bound(_from_slab(guess))
    return _from_slab(guess * per_unit**2)  # speeds go with the root of the mass


def _from_slab(gravitational_parameter: float) -> ao.Mission:
    body = ao.Body(
        name="Basalt",
        gravitational_parameter=gravitational_parameter,
        radius=6000.0 * km,
        rotation_rate=0.0,
    )
    return ao.Mission(
        body=body,
        site=ao.LaunchSite(name="Slab", latitude=0.0),
        orbit=ao.CircularOrbit(altitude=100.0 * km, inclination=0.0),
        vertical_rise=None,
    )


def by_the_book() -> Staging:
    """The closed form for it."""
    return least_lift_off_mass(ISP, STRUCTURAL, PAYLOAD, SPEED)


def dotterel(acceleration: float, heavier: float = 1.15) -> ao.Vehicle:
    """Three stages with so many m/s^2 each, were they as the closed form has them."""
    above, stages = by_the_book().lift_off_mass, []
    rows = zip(NAMES, ISP, STRUCTURAL, by_the_book().steps, strict=True)
    for name, isp, share, step in rows:
        mass = heavier * step
        stages.append(
            ao.Stage(
                name=name,
                propellant_mass=(1.0 - share) * mass,
                dry_mass=share * mass,
                engine=ao.Engine(vacuum_thrust=acceleration * above, vacuum_isp=isp),
                restarts=1 if name == NAMES[-1] else 0,
            )
        )
        above -= step
    return ao.Vehicle(name="Dotterel", payload_mass=PAYLOAD, stages=stages)


def shares() -> list[ao.StructuralLaw]:
    """Dry masses as shares of whole steps."""
    pairs = zip(NAMES, STRUCTURAL, strict=True)
    return [ao.StructuralLaw(stage=n, per_propellant=e / (1.0 - e)) for n, e in pairs]


def all_propellants(
    vehicle: ao.Vehicle, least: float = 0.3, most: float = 4.0
) -> list[ao.FreePropellant]:
    """Of every stage, between shares of what is described."""
    return [
        ao.FreePropellant(
            stage=one.name, least=least * one.propellant_mass, most=most * one.propellant_mass
        )
        for one in vehicle.stages
    ]


def all_thrusts(vehicle: ao.Vehicle, least: float = 0.3, most: float = 4.0) -> list[ao.FreeThrust]:
    """Of every stage, likewise."""
    found = []
    for one in vehicle.stages:
        thrust = one.engine.mean_thrust
        found.append(ao.FreeThrust(stage=one.name, least=least * thrust, most=most * thrust))
    return found


def ruff(size: float = 1.0) -> ao.Vehicle:
    """Two stages that rise from Marl; so many times as heavy, and as strong."""
    first = ao.Stage(
        name="first",
        propellant_mass=14.0 * tonne * size,
        dry_mass=1.5 * tonne * size,
        engine=ao.Engine(vacuum_thrust=250 * kN * size, vacuum_isp=310.0),
    )
    second = ao.Stage(
        name="second",
        propellant_mass=4.0 * tonne * size,
        dry_mass=0.6 * tonne * size,
        engine=ao.Engine(vacuum_thrust=60 * kN * size, vacuum_isp=325.0),
        restarts=1,
    )
    return ao.Vehicle(name="Ruff", payload_mass=1.2 * tonne * size, stages=(first, second))


def ruff_laws(vehicle: ao.Vehicle) -> list[ao.StructuralLaw]:
    """Tanks and engines by shares, the rest as it is."""
    return [
        ao.StructuralLaw.through(vehicle, one.name, per_propellant=0.07, per_thrust=2e-3)
        for one in vehicle.stages
    ]


@cache
def marl() -> ao.Mission:
    """From an airless world to a circle at 60 km, for which impulses come to some 4.5 km/s."""
    body = ao.Body(
        name="Marl", gravitational_parameter=5.8e13, radius=3000.0 * km, rotation_rate=4e-5
    )
    return ao.Mission(
        body=body,
        site=ao.LaunchSite(name="Scarp", latitude=10.0 * deg),
        orbit=ao.CircularOrbit(altitude=60.0 * km),
    )


def tern() -> ao.Vehicle:
    """Two small stages with far more than Slag asks for."""
    lower = ao.Stage(
        name="lower",
        propellant_mass=220.0,
        dry_mass=60.0,
        engine=ao.Engine(vacuum_thrust=1400.0, vacuum_isp=225.0),
    )
    upper = ao.Stage(
        name="upper",
        propellant_mass=60.0,
        dry_mass=22.0,
        engine=ao.Engine(vacuum_thrust=300.0, vacuum_isp=230.0),
        restarts=2,
    )
    return ao.Vehicle(name="Tern", payload_mass=60.0, stages=(lower, upper))


def tern_laws() -> list[ao.StructuralLaw]:
    """Of small tanks, with much that does not shrink with them."""
    return [
        ao.StructuralLaw(stage="lower", fixed=20.0, per_propellant=0.1, per_thrust=1e-2),
        ao.StructuralLaw(stage="upper", fixed=8.0, per_propellant=0.12, per_thrust=1.5e-2),
    ]


@cache
def slag() -> ao.Mission:
    """From a small airless world, where one stage is almost as good as two."""
    body = ao.Body(
        name="Slag",
        gravitational_parameter=1.28e11,
        radius=400.0 * km,
        rotation_rate=2e-4,
    )
    return ao.Mission(
        body=body,
        site=ao.LaunchSite(name="Ledge", latitude=20.0 * deg),
        orbit=ao.CircularOrbit(altitude=35.0 * km, inclination=50.0 * deg),
    )


def knot() -> ao.Vehicle:
    """Two stages through the air of the Earth, with room to spare."""
    lower = ao.Stage(
        name="lower",
        propellant_mass=42.0 * tonne,
        dry_mass=3.3 * tonne,
        engine=ao.Engine(vacuum_thrust=820 * kN, vacuum_isp=305.0, sea_level_isp=274.0),
    )
    upper = ao.Stage(
        name="upper",
        propellant_mass=8.5 * tonne,
        dry_mass=0.76 * tonne,
        engine=ao.Engine(vacuum_thrust=75 * kN, vacuum_isp=338.0),
        restarts=2,
    )
    return ao.Vehicle(
        name="Knot",
        payload_mass=900.0,
        stages=(lower, upper),
        fairing=ao.Fairing(mass=260.0),
        aerodynamics=ao.Aerodynamics(reference_area=3.8, drag_coefficient=0.4),
    )


@cache
def moor() -> ao.Mission:
    """To a steep circle from the Earth, no more than 45 kPa on the way."""
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(name="Moor", latitude=31.0 * deg),
        orbit=ao.CircularOrbit(altitude=420.0 * km, inclination=60.0 * deg),
        limits=ao.FlightLimits(dynamic_pressure=45 * kPa),
    )

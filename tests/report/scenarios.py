"""The scenarios of the published table, and flights that figures found hard, each solved once."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import ascentopt as ao
from ascentopt.scenarios import scenarios
from ascentopt.scenarios.vehicles import CURLEW, GODWIT
from ascentopt.scenarios.vehicles_elsewhere import SANDERLING
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, kPa, tonne
from tests.launchers import KNOT, LEDGE
from tests.optimal.launchers import earth_mission


def _stage(name: str, propellant: float, dry: float, engine: tuple[float, float]) -> ao.Stage:
    thrust, isp = engine
    return ao.Stage(name=name, propellant_mass=propellant * tonne, dry_mass=dry * tonne,
                    engine=ao.Engine(vacuum_thrust=thrust * kN, vacuum_isp=isp),
                    ignition_delay=0.0 if name == "booster" else 2.0)  # fmt: skip


OYSTERCATCHER = ao.Vehicle(
    name="Oystercatcher",  # four stages, the last of which stays unlit
    payload_mass=900.0,
    stages=(
        _stage("booster", 90.0, 7.5, (1900.0, 290.0)),
        _stage("core", 28.0, 2.6, (560.0, 320.0)),
        _stage("injection", 7.0, 0.8, (120.0, 335.0)),
        _stage("apogee", 1.6, 0.25, (18.0, 322.0)),
    ),
    fairing=ao.Fairing(mass=400.0),
    aerodynamics=ao.Aerodynamics(reference_area=6.0, drag_coefficient=0.35),
)


def _to(orbit: ao.EllipticalOrbit | ao.CircularOrbit, **limits: float) -> ao.Mission:
    return replace(earth_mission(), orbit=orbit, limits=ao.FlightLimits(**limits))


def _ellipse(low: float, high: float) -> ao.EllipticalOrbit:
    return ao.EllipticalOrbit(periapsis_altitude=low * km, apoapsis_altitude=high * km)


HARD = {
    "four stages": (OYSTERCATCHER, _to(ao.CircularOrbit(altitude=600 * km))),
    "far out": (replace(CURLEW, payload_mass=2 * tonne), _to(_ellipse(200.0, 35786.0))),
    "every limit": (
        GODWIT,
        _to(
            ao.CircularOrbit(altitude=220 * km),
            dynamic_pressure=30 * kPa,
            q_alpha=60 * kPa * deg,
            axial_acceleration=4.5 * STANDARD_GRAVITY,
            angle_of_attack=6 * deg,
        ),
    ),
    "small planet": (KNOT, replace(LEDGE, orbit=_ellipse(70.0, 150.0))),
    "moon": (
        SANDERLING,
        ao.Mission(
            body=ao.moon(), site=ao.LaunchSite(latitude=10 * deg), orbit=_ellipse(30.0, 200.0)
        ),
    ),
}
"""Ellipses, a coast of hours, four stages, limits on everything."""

PUBLISHED = tuple(scenarios())
"""Names in the table of `benchmarks/heuristics`."""

QUICK = ("marble-thick-air", "moon-brisk")
"""Those of them that are solved in a second or two."""


@lru_cache(maxsize=32)
def optimum_of(name: str) -> ao.Ascent:
    """The least-propellant ascent of a scenario, published or hard."""
    vehicle, mission = HARD[name] if name in HARD else _published(name)
    return ao.optimize(vehicle, mission)


@lru_cache(maxsize=32)
def comparison_of(name: str) -> ao.Comparison:
    """A published scenario's rules of thumb beside its optimum."""
    return ao.compare(*_published(name))


def _published(name: str) -> tuple[ao.Vehicle, ao.Mission]:
    found = scenarios()[name]
    return found.vehicle, found.mission

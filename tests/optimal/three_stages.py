"""A launcher for high orbits, and how to read what a flight was made of."""

from __future__ import annotations

from dataclasses import replace

import ascentopt as ao
from ascentopt.mission import Orbit
from ascentopt.units import deg, kN, kPa, tonne
from ascentopt.world.orbital_elements import OrbitalElements, elements

TURNS = ("ignition", "cut-off", "separation", "insertion")
"""Last words of the events at which burns and coasts begin and end."""


def spoonbill(restarts: int = 1, payload: float = 4 * tonne) -> ao.Vehicle:
    """Three stages, the last of which can be lit again."""
    return ao.Vehicle(
        name="Spoonbill",
        payload_mass=payload,
        stages=(
            ao.Stage(name="first", propellant_mass=300 * tonne, dry_mass=22 * tonne,
                     engine=ao.Engine(vacuum_thrust=6200 * kN, vacuum_isp=311.0,
                                      sea_level_isp=282.0)),
            ao.Stage(name="second", propellant_mass=80 * tonne, dry_mass=6 * tonne,
                     engine=ao.Engine(vacuum_thrust=1000 * kN, vacuum_isp=345.0)),
            ao.Stage(name="third", propellant_mass=30 * tonne, dry_mass=2.6 * tonne,
                     restarts=restarts, engine=ao.Engine(vacuum_thrust=110 * kN, vacuum_isp=450.0)),
        ),
        fairing=ao.Fairing(mass=1500.0),
        aerodynamics=ao.Aerodynamics(reference_area=18.0, drag_coefficient=0.35),
    )  # fmt: skip


def three_stages(delays: tuple[float, float], *, fairing: bool = False) -> ao.Vehicle:
    """Each may be lit three times more; the upper two need so many s to be lit."""
    stages = [
        ao.Stage(
            name=name, propellant_mass=full * tonne, dry_mass=0.1 * full * tonne, restarts=3,
            engine=ao.Engine(vacuum_thrust=thrust * kN, vacuum_isp=330.0), ignition_delay=delay,
        )
        for name, full, thrust, delay in (
            ("first", 40.0, 900.0, 0.0), ("second", 12.0, 150.0, delays[0]),
            ("third", 4.0, 40.0, delays[1]),
        )
    ]  # fmt: skip
    cone = ao.Fairing(mass=200.0) if fairing else None
    return ao.Vehicle(name="Fieldfare", payload_mass=900.0, stages=tuple(stages), fairing=cone)


def launch_to(orbit: Orbit, latitude: float) -> ao.Mission:
    """From a pad of the Earth at a latitude in rad."""
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=latitude, altitude=40.0),
        orbit=orbit,
        limits=ao.FlightLimits(dynamic_pressure=40 * kPa),
    )


def with_restarts(vehicle: ao.Vehicle, restarts: int) -> ao.Vehicle:
    """The same vehicle, its last stage lit again so often at most."""
    *below, last = vehicle.stages
    return replace(vehicle, stages=(*below, replace(last, restarts=restarts)))


def orbit_at(ascent: ao.Ascent, arc: int) -> OrbitalElements:
    """The osculating orbit at the end of an arc of the independent flight."""
    state = ascent.trajectory.arcs[arc].states[-1]
    return elements(ascent.mission.body.gravitational_parameter, state[:3], state[3:6])


def inclination(ascent: ao.Ascent) -> float:
    """Of the orbit as flown, deg."""
    return orbit_at(ascent, -1).inclination / deg


def lengths(ascent: ao.Ascent) -> list[float]:
    """Durations in s of the burns and coasts between the events, from the lift-off on."""
    times = [row.time for row in ascent.events if row.name.split()[-1] in TURNS]
    return [after - before for before, after in zip([0.0, *times], times, strict=False)]

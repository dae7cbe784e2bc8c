"""Optima made ready to be flown, and draws of what differs, shared by the tests of this room."""

from __future__ import annotations

from functools import cache

import numpy as np

import ascentopt as ao
from ascentopt.guided.deviations import AirDeviations, Deviations
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.outcomes import Outcomes

POSITION, VELOCITY = 100.0, 0.1
"""m and m/s that an insertion may miss its orbit by where the propellant suffices."""


@cache
def ascent(name: str) -> ao.Ascent:
    """The optimum of a scenario."""
    one = ao.scenarios()[name]
    return ao.optimize(one.vehicle, one.mission)


@cache
def ready(name: str) -> DispersedFlight:
    """The same, ready to be flown."""
    return DispersedFlight.of(ascent(name))


@cache
def as_planned(name: str) -> Outcomes:
    """A flight of it without deviations."""
    flight = ready(name)
    return flight.fly(flight.nominal)


def none(flight: DispersedFlight, count: int = 1) -> Deviations:
    """Flights as described."""
    vehicle = flight.prepared.vehicle
    return Deviations.none(count, stages=len(vehicle.stages), groups=len(vehicle.boosters))


def some(flight: DispersedFlight, count: int, seed: int = 1) -> Deviations:
    """Thrust 1 %, Isp 0.3 %, masses 0.5 %, density 10 %, wind 10 m/s; one standard deviation."""
    draw = np.random.default_rng(seed).standard_normal
    vehicle = flight.prepared.vehicle
    parts: list[ao.Stage | ao.BoosterGroup] = [*vehicle.stages, *vehicle.boosters]
    shape, stages = (count, len(parts)), len(vehicle.stages)
    dry = np.array([one.dry_mass for one in parts])
    load = np.array([one.propellant_mass for one in parts])
    air = flight.prepared.mission.body.atmosphere
    knots = np.array([0.0, 1.0])
    dispersed = AirDeviations(
        altitude=knots * (1.0 if air is None else air.ceiling),
        density=np.exp(0.1 * draw((count, 1))) * np.ones((count, 2)),
        east=10.0 * draw((count, 2)),
        north=10.0 * draw((count, 2)),
    )
    return Deviations(
        thrust=1.0 + 0.01 * draw(shape),
        isp=1.0 + 0.003 * draw(shape),
        dry_mass=0.005 * dry * draw(shape),
        propellant=0.005 * load * draw(shape),
        payload=0.005 * vehicle.payload_mass * draw(count),
        drag=1.0 + 0.05 * draw(count),
        normal_force=np.ones(count),
        ignition_delay=np.zeros((count, stages)),
        separation_delay=np.zeros(shape),
        alignment=np.zeros((count, 3)),
        air=None if air is None else dispersed,
    )

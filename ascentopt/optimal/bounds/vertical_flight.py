"""Whether a vehicle that lifts off sinks back to the ground with its first stage still burning.

Boosters that leave, or a thrust curve that tails off, may leave less thrust than weight, and no
steering helps much then. What is followed is a flight straight up, at full thrust and without drag.
Only one that gains speed sideways, which takes weight off as on an orbit, can be higher.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, inf

import numpy as np

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.vertical_rise import STEP, engines_in_steps, pad_gravity
from ascentopt.flight.plan import direct
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle


@dataclass(frozen=True)
class Sinking:
    """How deep a flight straight up sinks.

    Attributes:
        time: s from lift-off to the ground; inf where the first stage burns out above it.
        missing: upward speed in m/s at lift-off that would have kept it above the ground.
    """

    time: float
    missing: float


@dataclass(frozen=True)
class _Step:
    """Of the first stage: length in s, thrust in vacuum in N, area of exits in m^2, mass in kg."""

    length: float
    thrust: float
    area: float
    mass: float


def sinking_straight_up(vehicle: Vehicle, mission: Mission, *, relieved: bool) -> Sinking:
    """Follow the first stage straight up to its burn-out.

    Args:
        vehicle, mission: their limits have no part in it.
        relieved: whether it has, besides its climb, all the speed that the same thrust could give
            sideways. No flight at all is as high as this at any instant.
    """
    body, site = mission.body, mission.site
    gravity, pad = pad_gravity(mission), body.radius + site.altitude
    pressures, ground = _pressures(mission), -max(site.altitude, 0.0)
    sideways = abs(body.rotation_rate) * pad * cos(site.latitude)
    time = height = climb = missing = 0.0
    sunk, steps = inf, list(_steps(vehicle, mission))
    densest = float(pressures[1].max())
    if all(step.thrust - densest * step.area > gravity * step.mass for step in steps):
        return Sinking(time=inf, missing=0.0)  # it climbs faster and faster
    for step in steps:
        radius, pressure = pad + height, float(np.interp(height, *pressures))
        push = (step.thrust - pressure * step.area) / step.mass
        rate = push - gravity * (pad / radius) ** 2 + sideways**2 / radius
        height += climb * step.length + 0.5 * rate * step.length**2
        climb += rate * step.length
        sideways += push * step.length if relieved else 0.0
        time += step.length
        if height < ground:
            sunk = min(sunk, time)
            missing = max(missing, (ground - height) / time)
    return Sinking(time=sunk, missing=missing)


def _pressures(mission: Mission) -> tuple[np.ndarray, np.ndarray]:
    """Heights above the pad in m and pressures there in Pa."""
    air = mission.body.atmosphere
    if air is None:
        return np.zeros(1), np.zeros(1)
    heights = np.linspace(0.0, air.ceiling, 500)
    return heights, np.asarray(air.pressure(heights + mission.site.altitude))


def _steps(vehicle: Vehicle, mission: Mission) -> Iterator[_Step]:
    """What the first stage does at full thrust, until it burns out."""
    sequence = sequence_of(vehicle, replace(mission, vertical_rise=None), direct(vehicle))
    start, mass = 0.0, sequence.mass
    for arc in (arc for arc in sequence.arcs if arc.stage == 0):
        own, end = arc.parameters, start + arc.duration[1]
        area = own.exit_area + own.side_exit_area
        for thrust, flow in engines_in_steps(arc, start, 0.0):
            if mass < arc.least_mass:  # a stage that may throttle may burn for longer
                return
            length = min(STEP, end - start)
            yield _Step(length, thrust, area, mass)
            start, mass = start + length, mass - flow * length
        mass = arc.joint.mass(mass)

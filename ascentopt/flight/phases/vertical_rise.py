"""How long a vertical rise takes, without drag: it tells between which events the rise ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from math import ceil, cos, inf

import casadi as ca
import numpy as np

from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.mission import Mission
from ascentopt.typing import Floats
from ascentopt.world.ellipsoid import site_position
from ascentopt.world.gravity import gravity

STEP = 0.1
"""s. A rise takes seconds, and thrust changes little in a tenth of one."""

AT_ONCE = 64
"""Steps: a rise seldom takes more."""


def seconds_to_rise(
    arcs: Iterable[tuple[float, FlightArc]], mission: Mission, height: float, mass: float
) -> float:
    """Seconds from lift-off to ``height`` m above the pad; inf when it is not gained.

    Args:
        arcs: instant at which each arc of the first stage begins (s), and the arc, which must last
            its longest duration.
        mission: site and body.
        height: to gain, m.
        mass: at lift-off, kg.
    """
    weight, pressure = pad_weight(mission), pad_pressure(mission)
    gained = speed = 0.0
    for start, arc in arcs:
        time, end = start, start + arc.duration[1]
        if gained == 0.0 and _stands(arc, mass, weight):
            mass = arc.joint.mass(mass - (end - start) * _flow(arc))
            continue
        for thrust, flow in engines_in_steps(arc, start, pressure):
            step = min(STEP, end - time)
            # A thrust that is still below the weight leaves the vehicle standing on the pad.
            push = thrust / mass - weight if thrust > mass * weight or gained > 0.0 else 0.0
            rise = speed * step + 0.5 * push * step**2
            if gained + rise >= height:
                return time + step * (height - gained) / rise
            gained, speed, mass, time = (
                gained + rise,
                speed + push * step,
                mass - flow * step,
                time + step,
            )
        mass = arc.joint.mass(mass)
    return inf


def _stands(arc: FlightArc, mass: float, weight: float) -> bool:
    """Whether a steady thrust lifts not even what is left at the end: a burn of years has no steps.

    Of a motor's curve only its steps tell.
    """
    if arc.kind.core_curve is not None or arc.kind.side_curves:
        return False
    own, left = arc.parameters, mass - arc.duration[1] * _flow(arc)
    return own.thrust + own.side_thrust <= left * weight


def _flow(arc: FlightArc) -> float:
    return arc.parameters.mass_flow + arc.parameters.side_mass_flow


def pad_weight(mission: Mission) -> float:
    """Weight of a kilogram on the pad in N, its share that turns with the body taken off."""
    site, body = mission.site, mission.body
    swing = body.rotation_rate**2 * body.radius * cos(site.latitude) ** 2
    return pad_gravity(mission) - swing


@lru_cache(maxsize=64)
def pad_gravity(mission: Mission) -> float:
    """Gravity at the site in m/s^2, without what its turning takes off."""
    site, body = mission.site, mission.body
    place = site_position(body, site.latitude, 0.0, site.altitude)
    return float(ca.norm_2(gravity(body, place)))


@lru_cache(maxsize=64)
def pad_pressure(mission: Mission) -> float:
    """Of the air at the site in Pa; zero without air."""
    air = mission.body.atmosphere
    return float(air.pressure(mission.site.altitude)) if air is not None else 0.0


def engines_in_steps(
    arc: FlightArc, start: float, pressure: float
) -> Iterator[tuple[float, float]]:
    """Thrust in N and flow in kg/s in every `STEP` of an arc, of core and boosters together.

    At full throttle and in the step's middle. A motor's curve is looked up for many steps at once.
    """
    end = arc.duration[1]
    count = ceil(end / STEP)
    for chunk in range(0, count, AT_ONCE):
        firsts = STEP * np.arange(chunk, min(chunk + AT_ONCE, count))
        middles = start + firsts + 0.5 * np.minimum(STEP, end - firsts)
        thrusts, flows = _in_the_middle(arc, middles, pressure)
        yield from zip(thrusts.tolist(), flows.tolist(), strict=True)


def _in_the_middle(arc: FlightArc, times: Floats, pressure: float) -> tuple[Floats, Floats]:
    kind, own = arc.kind, arc.parameters
    thrust = np.full(len(times), own.thrust + own.side_thrust)
    flow = np.full(len(times), own.mass_flow + own.side_mass_flow)
    if kind.core_curve is not None:
        since = times - own.core_ignition
        thrust += kind.core_curve.vacuum_thrust_at(since) - own.thrust
        flow += kind.core_curve.mass_flow_at(since) - own.mass_flow
    for (motor, count), ignition in zip(kind.side_curves, own.side_ignitions, strict=True):
        thrust += count * motor.vacuum_thrust_at(times - ignition)
        flow += count * motor.mass_flow_at(times - ignition)
    return thrust - pressure * (own.exit_area + own.side_exit_area), flow

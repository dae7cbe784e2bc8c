"""What became of flights, read off where they are."""

from __future__ import annotations

import numpy as np

from ascentopt.guided.flights.flying import Flying
from ascentopt.guided.guidance.leg import apoapsis_radius, climb_rate, periapsis_radius
from ascentopt.guided.outcomes import End, Loads, Misses, Outcomes
from ascentopt.guided.steps.rows import dot
from ascentopt.typing import Floats


def outcomes_of(flying: Flying) -> Outcomes:
    """Of flights that are over."""
    fleet, plan = flying.fleet, flying.plan
    states = fleet.state[:, :7].copy()
    body = plan.mission.body
    mu = body.gravitational_parameter
    periapsis = periapsis_radius(mu, states) - body.radius
    misses = _misses(flying, states)
    dry, wanted = flying.dry, flying.wanted
    if flying.plan.arcs[-1].solid:
        dry = periapsis < plan.mission.floor
        wanted = np.where(dry, np.maximum(-misses.speed, 0.0), 0.0)
    ends = np.where(flying.fell, int(End.FELL), np.where(dry, int(End.SHORT), 0))
    left = _left(flying)
    momentum = np.cross(states[:, :3], states[:, 3:6])
    level = np.hypot(momentum[:, 0], momentum[:, 1])
    node = np.arctan2(momentum[:, 0], -momentum[:, 1]) % (2.0 * np.pi)
    missing = np.where(flying.fell, np.nan, wanted)
    return Outcomes(
        end=ends,
        time=fleet.time.copy(),
        propellant_left=np.where(flying.fell, np.nan, left),
        missing_speed=missing,
        missing_propellant=_for_speed(flying, states[:, 6], missing),
        misses=misses,
        periapsis=periapsis,
        apoapsis=apoapsis_radius(mu, states) - body.radius,
        inclination=np.asarray(np.arctan2(level, momentum[:, 2])),
        ascending_node=np.asarray(node),
        loads=_loads(fleet.loads),
        final_state=states,
        arc_ends=flying.arc_ends,
        handover=flying.handover,
        track=None if flying.tracking is None else flying.tracking.track,
    )


def _loads(loads: Floats) -> Loads:
    pressure, q_alpha, axial, heating = loads.T.copy()
    return Loads(
        dynamic_pressure=pressure, q_alpha=q_alpha, axial_acceleration=axial, heating=heating
    )


def _left(flying: Flying) -> Floats:
    """(N,) kg beyond the reserve, with that of stages never lit."""
    stage = flying.plan.arcs[flying.plan.cut_off].arc.stage
    own = flying.endings.burnable(stage) - flying.burned
    unlit = range(flying.plan.plan.inserting_stage + 1, len(flying.parts.vehicle.stages))
    above = sum((flying.parts.load(k) for k in unlit), np.zeros(len(own)))
    return np.maximum(own, 0.0) + above


def _for_speed(flying: Flying, mass: Floats, speed: Floats) -> Floats:
    """(N,) kg that would be burned for so many m/s more, from where the tank is dry."""
    engine = flying.parts.vehicle.stages[flying.plan.plan.inserting_stage].engine
    exhaust = engine.mean_thrust / engine.mass_flow
    return np.asarray(mass * np.expm1(speed / exhaust))


def _misses(flying: Flying, states: Floats) -> Misses:
    target = flying.plan.target(len(flying.plan.arcs) - 1)
    there = target.place(states)
    radius = np.sqrt(dot(states[:, :3], states[:, :3]))
    climb = climb_rate(states)
    across = np.sqrt(np.maximum(dot(states[:, 3:6], states[:, 3:6]) - climb**2, 0.0))
    out, drift = target.plane.misses(states)
    return Misses(
        radius=radius - there[0],
        climb=climb - there[1],
        speed=across - there[2],
        out_of_plane=out,
        drift=drift,
    )

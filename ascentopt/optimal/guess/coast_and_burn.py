"""What follows a climb that ends in a coast: the coast, and the burn at its end."""

from __future__ import annotations

from math import sqrt

import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.mission import Mission
from ascentopt.optimal.guess.ballistic_coast import BallisticCoast
from ascentopt.optimal.guess.flown_arcs import (
    COAST_STEPS,
    STEPS_AN_ARC,
    FlownArc,
    fly_at_pitch,
    fly_pushed,
)
from ascentopt.optimal.guess.loft_to_node import LoftToNode
from ascentopt.optimal.problem.target.aim import AimPoint
from ascentopt.world.orbital_elements import elements


def circularise(
    arcs: tuple[FlightArc, ...], before: FlownArc, mission: Mission, aim: AimPoint
) -> tuple[FlownArc, ...]:
    """Coast to the far end of the transfer, then burn horizontally up to the speed of the orbit.

    The coast starts in the state aimed at, not in the one flown to: a small jump that the solver
    closes, where an ellipse off by little could run through the ground.
    """
    coast, burn = arcs
    state, time = aim.state(before.states[-1]), float(before.times[-1])
    mu = mission.body.gravitational_parameter
    half = 0.5 * elements(mu, state[:3], state[3:6]).period
    away = min(max(half, 10.0), 0.95 * coast.duration[1])
    drift = fly_at_pitch(coast, state, time, away, COAST_STEPS)
    high = drift.states[-1]
    radius, speed = np.linalg.norm(high[:3]), np.linalg.norm(high[3:6])
    missing = max(sqrt(mu / radius) - speed, 1.0)
    seconds = min(missing * high[MASS] / burn.parameters.thrust, 0.9 * burn.duration[1])
    return drift, fly_at_pitch(burn, high, time + away, max(seconds, 0.5), STEPS_AN_ARC)


def coast_to_apoapsis_and_burn(
    arcs: tuple[FlightArc, ...], before: FlownArc, loft: BallisticCoast
) -> tuple[FlownArc, ...]:
    """Coast up to the orbit's height, and burn in the direction of the speed that is missing."""
    coast, burn = arcs
    last = loft.plan(before.after())
    seconds = max(min(last.burned / burn.parameters.mass_flow, 0.95 * burn.duration[1]), 0.5)
    seconds = burn.duration[1] if burn.fixed else seconds
    drift = _coasted(coast, before, last.time - 0.5 * seconds)
    high, time = drift.states[-1], float(drift.times[-1])
    return drift, fly_at_pitch(burn, high, time, seconds, STEPS_AN_ARC, pitch=last.pitch)


def coast_to_node_and_turn(
    arcs: tuple[FlightArc, ...], before: FlownArc, lob: LoftToNode
) -> tuple[FlownArc, ...]:
    """Coast up to the node, and burn in the direction of the speed that is missing there."""
    coast, burn = arcs
    state = before.after()
    until, change, speed = lob.last(state)
    needed = burn.seconds_to_gain(float(state[MASS]), speed)
    seconds = max(min(needed, 0.95 * burn.duration[1]), 0.5)
    drift = _coasted(coast, before, until - 0.5 * seconds)
    high, time, push = drift.states[-1], float(drift.times[-1]), (lob.place, change)
    return drift, fly_pushed(burn, high, time, seconds, STEPS_AN_ARC, push)


def _coasted(coast: FlightArc, before: FlownArc, seconds: float) -> FlownArc:
    """From the end of a climb, as long as the arc allows; a second at least."""
    away = min(max(seconds, coast.duration[0], 1.0), 0.95 * coast.duration[1])
    return fly_at_pitch(coast, before.after(), float(before.times[-1]), away, COAST_STEPS)

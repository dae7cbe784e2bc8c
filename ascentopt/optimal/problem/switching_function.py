"""What a second of thrust in a burn is worth by the costates, and what one without it costs."""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import ArcSolution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc


def switching_function(arc: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second of full throttle at the nodes of a burn in vacuum.

    The derivative of the Hamiltonian by the throttle, thrust/m p_v.u - flow p_m in costates of
    the cost: below zero wherever a burn pays (Pontryagin). In units of the cost over s.
    """
    states, steering = own.states[1:], own.controls[:, :3]
    if arc.kind.direction_is_state:
        steering = states[:, 7:10]
    push = (own.costates[1:, 3:6] * steering).sum(axis=1) * arc.parameters.thrust / states[:, MASS]
    return np.asarray(push - arc.parameters.mass_flow * own.costates[1:, MASS])


def coasting_cost(arc: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second without thrust there: the Hamiltonian without it, cost over s."""
    return own.hamiltonian() - switching_function(arc, own)

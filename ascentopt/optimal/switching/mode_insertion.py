"""What a change of the structure gains to first order: mode-insertion gradients.

Between two modes of flight (engine on, engine off, another throttle) the Hamiltonian tells what a
second of the one instead of the other gains or costs (M. Egerstedt, Y. Wardi, H. Axelsson, IEEE
Transactions on Automatic Control 51 (2006), from memory). Costates are those of a cost, final mass
taken negative: below zero is a gain, in kg/s.
"""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import ArcSolution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.optimal.problem.switching_function import switching_function

SHORTEST = 1.0
"""s. A shorter burn or coast is as good as none: no other mode could begin and end within it."""


def burning_cost(burn: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second of the best thrust of ``burn`` at the nodes of a coast, kg/s.

    Thrust along the primer vector (D. F. Lawden, Optimal Trajectories for Space Navigation, 1963,
    from memory).
    """
    primer = np.linalg.norm(own.costates[1:, 3:6], axis=1)
    push = primer * burn.parameters.thrust / own.states[1:, MASS]
    return np.asarray(-push - burn.parameters.mass_flow * own.costates[1:, MASS])


def gain_by_throttling(arc: FlightArc, own: ArcSolution, least: float, later: float) -> float:
    """Kg that the least throttle gains, to first order, wherever it gains.

    Args:
        arc, own: a burn; least: throttle.
        later: kg/s that it costs to burn as much at the end of the stage's burn instead.
    """
    if not has_plain_thrust(arc) or _may_throttle(arc, own) or own.duration < SHORTEST:
        return 0.0
    weights = own.duration * quadrature(own)
    gains = np.maximum(switching_function(arc, own) - later, 0.0)
    return float((1.0 - least) * (weights * gains).sum())


def _may_throttle(arc: FlightArc, own: ArcSolution) -> bool:
    """Whether the throttle was free to be less than full already."""
    bounds = own.arc.control_bounds
    return arc.kind.throttled and bounds is not None and bounds.lower[-1] < 1.0


def gain_by_ending_early(last: FlightArc, own: ArcSolution) -> float:
    """Kg a second that ending a burn early gains whose propellant is dropped with its stage."""
    return _cost_of_burning_on(own) - max(cost_of_burning_later(last, own), 0.0)


def cost_of_burning_later(last: FlightArc, own: ArcSolution) -> float:
    """Kg/s that it costs to burn at the end of a stage what was not burned before; else it is lost.

    Below zero where a longer burn pays. Where both its length and its tank end a burn at full
    throttle only the difference of their two prices is known: each may stand for tonnes. A change
    gains what it gains by every such pair, least by the one that leaves the tank as cheap as can
    be: what the length costs and the tank pays is taken off both.
    """
    tank = -last.parameters.mass_flow * float(own.costates[-1, MASS])
    return min(_cost_of_burning_on(own), max(tank, 0.0))


def _cost_of_burning_on(own: ArcSolution) -> float:
    """Kg/s that a longer burn costs.

    Nothing else of the flight depends on the clock, so the Hamiltonian at the end of the burn is
    the derivative of the cost by its length.
    """
    return float(own.hamiltonian()[-1])


def has_plain_thrust(arc: FlightArc) -> bool:
    """Whether an arc is steered by an engine of constant thrust and nothing beside it."""
    solid = (
        arc.kind.core_curve is not None
        or bool(arc.kind.side_curves)
        or arc.parameters.side_thrust > 0.0
    )
    return arc.kind.guidance is Guidance.STEERED and not solid and arc.parameters.thrust > 0.0


def quadrature(own: ArcSolution) -> Array:
    """(N,) weights of the nodes for an integral over the fraction of the arc; they sum to one."""
    inner = own.arc.mesh.fractions()
    edges = np.concatenate(([0.0], 0.5 * (inner[1:] + inner[:-1]), [1.0]))
    return np.diff(edges)

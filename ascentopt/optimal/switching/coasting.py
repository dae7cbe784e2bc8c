"""What a coast costs to first order: before a stage is lit, or within the last burn."""

from __future__ import annotations

from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.collocation import Point, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import NUMBERS, ArcKind, Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.problem.phase_model import forces_at
from ascentopt.optimal.problem.switching_function import coasting_cost, switching_function
from ascentopt.optimal.warm_start.coast_insertion import first_arc_and_first_burn
from ascentopt.rocket import DragCurve
from ascentopt.world import Body

FALLING = 0.1
"""A coast of half a revolution lasts several times as long as a burn. Where a second of it costs
more than this share of what a second of thrust gains, the vehicle falls, and must not rest."""

OF_THE_AIR = frozenset({"reference_area", "drag_factor", "normal_force_slope"})
"""Numbers of an arc that matter without thrust."""


def share_lost_by_coasting(flight: Solution, sequence: Sequence) -> float | None:
    """What a second of coast in the last burn costs at least, as a share of a second of thrust.

    None where that is little, or less than nothing.
    """
    last, own = sequence.arcs[-1], flight.arcs[-1]
    if last.kind.guidance is not Guidance.STEERED or own.duration <= 0.0:
        return None
    worth, costs = switching_function(last, own), coasting_cost(last, own)
    best = int(np.argmin(costs))
    share = float(costs[best] / max(-worth[best], 1e-9 * abs(costs[best])))
    return share if costs[best] > 0.0 and share > FALLING else None


def cost_of_coasting(flight: Solution, sequence: Sequence, stage: int) -> float:
    """What the first second of a coast before a stage costs, or of more coast; below zero it pays.

    The Hamiltonian without thrust by the costates with which the stage begins; in units of the
    cost over s.
    """
    index = first_arc_and_first_burn(sequence, stage)[1]
    arc, own = sequence.arcs[index], flight.arcs[index]
    numbers = [
        n if name in OF_THE_AIR else 0.0 for name, n in zip(NUMBERS, arc.numbers, strict=False)
    ]
    state, costate = own.states[0, : MASS + 1], own.costates[0, :6]
    falling = _falling(arc.kind.body, arc.kind.drag_curve)(state, numbers)
    rates = np.concatenate((state[3:6], np.array(falling, dtype=float).ravel()))
    return float(costate @ rates)


@lru_cache(maxsize=16)
def _falling(body: Body, drag_curve: DragCurve | None) -> ca.Function:
    """Acceleration without thrust from a state (7,) and the numbers of an arc."""
    kind = ArcKind(body=body, guidance=Guidance.COAST, drag_curve=drag_curve)
    state, numbers = ca.SX.sym("state", MASS + 1), ca.SX.sym("numbers", len(NUMBERS))
    now = forces_at(kind, Point(0.0, 0.0, state, ca.SX.zeros(0), numbers))
    return ca.Function("falling", [state, numbers], [now.acceleration])

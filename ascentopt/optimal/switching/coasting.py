"""What coasts gain to first order: before a stage, or half a revolution before a last burn."""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

import casadi as ca
import numpy as np

from ascentopt.collocation import Point, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import NUMBERS, ArcKind, Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.phase_model import forces_at
from ascentopt.optimal.problem.target.ellipse import NEARLY_CIRCULAR
from ascentopt.optimal.warm_start.remap import first_arc_and_first_burn
from ascentopt.rocket import DragCurve
from ascentopt.world import Body
from ascentopt.world.orbital_elements import elements

INTO_THE_AIR = 0.5
"""Share of the ceiling below which no coast begins."""

OF_THE_AIR = frozenset({"reference_area", "drag_factor", "normal_force_slope"})
"""Numbers of an arc that matter without thrust."""


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


def gain_by_ending_lower(attempt: Attempt, mission: Mission) -> float:
    """Kg of final mass that a transfer from below brings at most, to first order.

    The first burn ends lower and a little faster, so that the orbit's far end stays where it is:
    what that is worth its costates say. The burn there, which raises the near end again, costs its
    rocket equation. By the metre the one grows less than linearly, since the air grows denser; so
    the slope times the whole way down is a bound.
    """
    own, arc = attempt.found.arcs[-1], attempt.sequence.arcs[-1]
    state, price, mu = own.states[-1], own.costates[-1], mission.body.gravitational_parameter
    near, speed = float(np.linalg.norm(state[:3])), float(np.linalg.norm(state[3:6]))
    orbit = elements(mu, state[:3], state[3:6])
    round_ = orbit.eccentricity < NEARLY_CIRCULAR
    far = near if round_ else orbit.semi_major_axis * (1.0 + orbit.eccentricity)
    leaving = sqrt(2.0 * mu * far / (near * (near + far)))
    faster = 0.5 * leaving * (1.0 / near + 1.0 / (near + far))  # by the metre of a lower near end
    raising = (leaving - faster * near) / far  # likewise, what the arrival is slower by
    exhaust = arc.parameters.thrust / arc.parameters.mass_flow
    slope = faster * (price[3:6] @ state[3:6]) / speed - price[:3] @ state[:3] / near
    slope -= float(state[MASS]) * raising / exhaust
    floor = INTO_THE_AIR * mission.floor if mission.body.atmosphere else mission.site.altitude
    return float(slope * max(near - mission.body.radius - floor, 0.0))

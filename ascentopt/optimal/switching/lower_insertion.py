"""What a direct insertion gains by ending lower, with half a revolution and a burn after it."""

from __future__ import annotations

from math import sqrt

import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.target.ellipse import NEARLY_CIRCULAR
from ascentopt.world.orbital_elements import elements

STEP = 1e3
"""m by which the insertion is lowered to see what that is worth."""

INTO_THE_AIR = 0.5
"""Share of the ceiling below which no coast begins."""


def gain_by_ending_lower(attempt: Attempt, mission: Mission) -> float:
    """Kg of final mass that a transfer from below brings at most, to first order.

    The first burn ends lower and a little faster, so that the orbit's far end stays where it is:
    what that is worth its costates say. The burn there, which raises the near end again, costs its
    rocket equation. By the metre the one grows less than linearly, since the air grows denser; so
    the slope times the whole way down is a bound.
    """
    own, arc = attempt.found.arcs[-1], attempt.sequence.arcs[-1]
    state, price, mu = own.states[-1], own.costates[-1], mission.body.gravitational_parameter
    radius, speed = float(np.linalg.norm(state[:3])), float(np.linalg.norm(state[3:6]))
    orbit = elements(mu, state[:3], state[3:6])
    round_ = orbit.eccentricity < NEARLY_CIRCULAR
    far = radius if round_ else orbit.semi_major_axis * (1.0 + orbit.eccentricity)
    above, below = _near_end(mu, radius, far), _near_end(mu, radius - STEP, far)
    earlier = -STEP * (price[:3] @ state[:3]) / radius
    earlier += (below - above) * (price[3:6] @ state[3:6]) / speed
    raising = above * radius / far - below * (radius - STEP) / far
    exhaust = arc.parameters.thrust / arc.parameters.mass_flow
    slope = (earlier - float(state[MASS]) * raising / exhaust) / STEP
    floor = INTO_THE_AIR * mission.floor if mission.body.atmosphere else mission.site.altitude
    return float(slope * max(radius - mission.body.radius - floor, 0.0))


def _near_end(mu: float, near: float, far: float) -> float:
    """Speed at the near end of an ellipse, m/s."""
    return sqrt(2.0 * mu * far / (near * (near + far)))

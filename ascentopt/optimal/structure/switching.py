"""What a change of the structure gains to first order: mode-insertion gradients.

Between two modes of flight (engine on, engine off, another throttle) the Hamiltonian tells what a
second of the one instead of the other gains or costs (M. Egerstedt, Y. Wardi, H. Axelsson, IEEE
Transactions on Automatic Control 51 (2006), from memory). Costates are those of a cost, final mass
taken negative: below zero is a gain, in kg/s.
"""

from __future__ import annotations

from math import log

import numpy as np

from ascentopt.collocation import ArcSolution
from ascentopt.collocation.radau import Array
from ascentopt.flight.kind import Guidance
from ascentopt.flight.model import MASS
from ascentopt.flight.sequence import FlightArc
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.fairing import heating_at
from ascentopt.optimal.pause import worth_of_thrust
from ascentopt.optimal.transfer import price_of_heating
from ascentopt.rocket import Fairing

SHORTEST = 1.0
"""s. A shorter burn or coast holds no instant at which another mode could begin and end."""

MARGIN, WITHIN_REACH = 3.0, 10.0
"""Times the cost at its present price that an earlier drop must save, and times its limit that
heating may be there. The price rises on the way: of two flights one saved 7 times the cost where it
was 5 times as hot, and gained a twelfth of the difference; one saved 2.4 times, and lost. Those
that save more at 20 to 5000 times the limit never gain."""


def coasting_cost(arc: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second without thrust at the nodes of a burn, kg/s."""
    return own.hamiltonian() - worth_of_thrust(arc, own)


def burning_cost(burn: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second of the best thrust of ``burn`` at the nodes of a coast, kg/s.

    Thrust along the primer vector (D. F. Lawden, Optimal Trajectories for Space Navigation, 1963,
    from memory).
    """
    primer = np.linalg.norm(own.costates[1:, 3:6], axis=1)
    push = primer * burn.numbers[0] / own.states[1:, MASS]
    return np.asarray(-push - burn.numbers[1] * own.costates[1:, MASS])


def gain_by_throttling(arc: FlightArc, own: ArcSolution, least: float) -> float:
    """Kg that the least throttle gains, to first order, wherever thrust costs more than it pays."""
    if not has_plain_thrust(arc) or _may_throttle(arc, own) or own.duration < SHORTEST:
        return 0.0
    weights = own.duration * quadrature(own)
    return float((1.0 - least) * (weights * np.maximum(worth_of_thrust(arc, own), 0.0)).sum())


def _may_throttle(arc: FlightArc, own: ArcSolution) -> bool:
    """Whether the throttle was free to be less than full already."""
    bounds = own.arc.control_bounds
    return arc.kind.throttled and bounds is not None and bounds.lower[-1] < 1.0


def gain_by_ending_early(own: ArcSolution) -> float:
    """Kg a second that ending a burn early gains whose propellant is dropped with its stage.

    Nothing else of the flight depends on the clock, so the Hamiltonian at the end of the burn is
    the derivative of the cost by its length.
    """
    return float(own.hamiltonian()[-1])


def hotter_by(attempt: Attempt, fairing: Fairing, place: int) -> float:
    """Logarithm of the heating over its limit at the near end of an arc, with the fairing's drop.

    The near end of an arc before the drop is its last point, of one after it its first.
    """
    near = -1 if place < (attempt.sequence.index_of_drop or 0) else 0
    state = attempt.found.arcs[place].states[near, : MASS + 1][None]
    heat = float(heating_at(attempt.sequence.arcs[place].kind, state)[0])
    return log(max(heat, 1e-9) / fairing.max_heating)


def saved_by_dropping(attempt: Attempt, fairing: Fairing, place: int) -> float:
    """Kg that dropping the fairing there would save if heating were no matter.

    What carrying it costs is the change of the mass's costate; negative for a later drop.
    """
    cut, flown = attempt.sequence.index_of_drop or 0, attempt.found.arcs
    near = -1 if place < cut else 0
    return fairing.mass * float(flown[place].costates[near, MASS] - flown[cut].costates[-1, MASS])


def burn_to_drop_in(attempt: Attempt, fairing: Fairing | None) -> str | None:
    """Name of the burn before the drop, where dropping the fairing at its end promises enough.

    A steeper flight that drops it early and a flatter one that drops it late are both the best of
    their kind; between them lies a staging, over which no drop can be moved step by step. At a
    coast's end the drop moves freely.
    """
    cut, place = attempt.sequence.index_of_drop, attempt.burn_before_the_drop()
    if fairing is None or cut is None or place is None or not attempt.reached:
        return None
    if not attempt.sequence.arcs[cut].burning:
        return None
    hotter = max(hotter_by(attempt, fairing, place), 0.0)
    cost = hotter * price_of_heating(attempt.found)
    pays = saved_by_dropping(attempt, fairing, place) > MARGIN * cost
    return attempt.sequence.names[place] if pays and hotter < log(WITHIN_REACH) else None


def has_plain_thrust(arc: FlightArc) -> bool:
    """Whether an arc is steered by an engine of constant thrust and nothing beside it."""
    solid = arc.kind.core_curve is not None or bool(arc.kind.side_curves) or arc.numbers[3] > 0.0
    return arc.kind.guidance is Guidance.STEERED and not solid and arc.numbers[0] > 0.0


def quadrature(own: ArcSolution) -> Array:
    """(N,) weights of the nodes for an integral over the fraction of the arc; they sum to one."""
    inner = own.arc.mesh.fractions()
    edges = np.concatenate(([0.0], 0.5 * (inner[1:] + inner[:-1]), [1.0]))
    return np.diff(edges)

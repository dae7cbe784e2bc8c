"""What another place of the fairing's drop gains to first order."""

from __future__ import annotations

from collections.abc import Iterator
from math import log

import numpy as np

from ascentopt.collocation import ArcSolution, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.joints import DROP_HEATING
from ascentopt.optimal.problem.path_limits import HEATING
from ascentopt.optimal.problem.payload_heating import heating_at
from ascentopt.rocket import Fairing

WITHIN_REACH = 10.0
"""Times its limit that heating may be where else the fairing might go. The air is exponential, and
so the price of heating grows by 1.7 to 1.9 times with every factor e of it: of drops that seemed to
save more at 20 to 5000 times the limit none ever did."""


def places_within_reach(attempt: Attempt, fairing: Fairing) -> Iterator[str]:
    """Names of the other burns in which the fairing might go, but for those that are far too hot.

    All of them, for a place further off may be better where the next one is worse: a steeper flight
    that drops it early and a flatter one that drops it late are both the best of their kind.
    """
    for name in attempt.other_burns_for_the_drop():
        place = attempt.sequence.names.index(name)
        if log_heating_ratio(attempt, fairing, place) < log(WITHIN_REACH):
            yield name


def price_of_heating(flight: Solution) -> float:
    """Kg that one more in the logarithm of the heating that the payload bears is worth.

    At the drop, and on all arcs after it.
    """
    names = [q.name for condition in flight.problem.conditions for q in condition.quantities]
    prices = np.ravel(flight.condition_multipliers)
    found = zip(names, prices, strict=True)
    at_the_drop = sum(price for name, price in found if name == DROP_HEATING)
    return float(at_the_drop + sum(_price_along(own) for own in flight.arcs))


def _price_along(own: ArcSolution) -> float:
    """Of the heating of the payload on an arc: the densities of its multiplier, integrated."""
    names = [quantity.name for quantity in own.arc.model.path]
    if HEATING not in names:
        return 0.0
    density = own.path_multipliers[:, names.index(HEATING)]
    return float(own.duration * own.arc.mesh.weights() @ density)


def log_heating_ratio(attempt: Attempt, fairing: Fairing, place: int) -> float:
    """Logarithm of the heating over its limit at the near end of an arc, with the fairing's drop.

    The near end of an arc before the drop is its last point, of one after it its first.
    """
    near = -1 if place < (attempt.sequence.index_of_drop or 0) else 0
    state = attempt.found.arcs[place].states[near, : MASS + 1][None]
    heat = float(heating_at(attempt.sequence.arcs[place].kind, state)[0])
    return log(max(heat, 1e-9) / fairing.max_heating)


def gain_without_heating(attempt: Attempt, fairing: Fairing, place: int) -> float:
    """Kg that dropping the fairing there would save if heating were no matter.

    What carrying it costs is the change of the mass's costate; negative for a later drop.
    """
    cut, flown = attempt.sequence.index_of_drop or 0, attempt.found.arcs
    near = -1 if place < cut else 0
    return fairing.mass * float(flown[place].costates[near, MASS] - flown[cut].costates[-1, MASS])

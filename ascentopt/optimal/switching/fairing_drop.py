"""What another place of the fairing's drop gains to first order."""

from __future__ import annotations

from math import log

import numpy as np

from ascentopt.collocation import ArcSolution, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.joints import DROP_HEATING
from ascentopt.optimal.problem.path_limits import HEATING
from ascentopt.optimal.problem.payload_heating import heating_at
from ascentopt.rocket import Fairing

E_FOLDS = 6.0
"""By how many factors of e a flight that keeps its fairing may heat beyond the limit: coasts from
65 km on Mars do by six or seven."""


def may_pay_to_coast_lower(attempt: Attempt, fairing: Fairing | None) -> bool:
    """Whether it may pay to coast lower, with the fairing on, rather than to climb out of the heat.

    Kept to the far end of the coast it costs what it takes to bring it from its drop to the coast;
    free of what its payload bears the flight gains at most the limit's price times the logarithm of
    what it is exceeded by.
    """
    drops = [k for k, arc in enumerate(attempt.sequence.arcs) if arc.joint.fairing]
    if fairing is None or not drops or not attempt.reached or not attempt.plan.restarts:
        return False
    coast = len(attempt.sequence.arcs) - 2
    if drops[0] >= coast:
        return False
    left = 1.0
    for own in attempt.found.arcs[drops[0] + 1 : coast]:
        left *= float(own.states[-1, MASS] / own.states[0, MASS])
    return E_FOLDS * price_of_heating(attempt.found) > fairing.mass * (1.0 - left)


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


MARGIN, WITHIN_REACH = 3.0, 10.0
"""Times the cost at its present price that an earlier drop must save, and times its limit that
heating may be there. The price rises on the way: of two flights one saved 7 times the cost where it
was 5 times as hot, and gained a twelfth of the difference; one saved 2.4 times, and lost. Those
that save more at 20 to 5000 times the limit never gain."""


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


def earlier_burn_worth_dropping_in(attempt: Attempt, fairing: Fairing | None) -> str | None:
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
    hotter = max(log_heating_ratio(attempt, fairing, place), 0.0)
    cost = hotter * price_of_heating(attempt.found)
    pays = gain_without_heating(attempt, fairing, place) > MARGIN * cost
    return attempt.sequence.names[place] if pays and hotter < log(WITHIN_REACH) else None

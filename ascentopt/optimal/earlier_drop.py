"""Whether the fairing would better go in the burn before the one in which it goes.

A steeper flight that drops it early and a flatter one that drops it late are both the best of their
kind; between them lies a staging, over which no drop can be moved step by step. What the flight at
hand says of the other one is its costates: what the fairing costs on the way, and what cooler air
would.
"""

from __future__ import annotations

from math import log

import numpy as np

from ascentopt.flight.model import MASS
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.fairing import heating_at
from ascentopt.optimal.transfer import price_of_heating
from ascentopt.rocket import Fairing

MARGIN, WITHIN_REACH = 3.0, 10.0
"""Times the cost at its present price that an earlier drop must save, and times its limit that
heating may be there. The price rises on the way: seed 42 of the survey saves 7 times the cost where
it is 5 times as hot, and gains a twelfth of the difference; seed 16 saves 2.4 times, and loses.
Those that save more at 20 to 5000 times the limit never gain."""


def burn_to_drop_in(attempt: Attempt, fairing: Fairing | None) -> str | None:
    """Name of the burn before, where dropping the fairing at its end promises enough."""
    drops = [k for k, arc in enumerate(attempt.sequence.arcs) if arc.joint.fairing]
    if fairing is None or not drops or not attempt.reached:
        return None
    if not attempt.sequence.arcs[drops[0]].burning:  # at a coast's end it moves freely
        return None
    cut, arcs, flown = drops[0], attempt.sequence.arcs, attempt.found.arcs
    may = attempt.sequence.may_drop_in
    before = [k for k, arc in enumerate(arcs[:cut]) if arc.burning and arc.rise is None and may(k)]
    if not before:
        return None
    place = before[-1]
    worth = np.array([float(flown[k].costates[-1, MASS]) for k in (place, cut)])
    saved = fairing.mass * float(worth[0] - worth[1])
    heat = float(heating_at(arcs[place].kind, flown[place].states[-1:, : MASS + 1])[0])
    excess = max(heat / fairing.max_heating, 1.0)
    cost = price_of_heating(attempt.found) * log(excess)
    return arcs[place].name if excess < WITHIN_REACH and saved > MARGIN * cost else None

"""What cooler air at the fairing's drop costs, to second order."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.collocation import NotConverged, Problem, Solution, solve
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structure.moves import Drop
from ascentopt.optimal.transcription import DROP_HEATING
from ascentopt.optimal.transfer import price_of_heating

FOLD = 1.0
"""By which the logarithm of the limit is lowered, a factor e: the price grows steadily over it."""

BRIEF = 30
"""Iterations from a solution of which one number has changed: it takes 5, or does not follow."""


def gain_to_second_order(solving: Solving, attempt: Attempt, move: Drop) -> float:
    """Kg that another place of the drop gains, with what the price of heating grows by on the way.

    The price grows with every factor of e by a larger step than the last, so this is more than what
    can be gained. Where the solver does not follow, the gain to first order.
    """
    if move.hotter <= FOLD:
        return move.gain
    settings = solving.deadline.settings(replace(solving.settings, iterations=BRIEF))
    try:
        cooler = solve(_with_cooler_drop(attempt.found), attempt.found, settings)
    except NotConverged:
        return move.gain
    growth = (price_of_heating(cooler) - price_of_heating(attempt.found)) / FOLD
    return move.gain - 0.5 * max(growth, 0.0) * move.hotter**2


def _with_cooler_drop(flight: Solution) -> Problem:
    conditions = []
    for condition in flight.problem.conditions:
        pairs = zip(condition.quantities, condition.bounds.upper, strict=True)
        upper = tuple(high - FOLD if q.name == DROP_HEATING else high for q, high in pairs)
        conditions.append(replace(condition, bounds=replace(condition.bounds, upper=upper)))
    return replace(flight.problem, conditions=tuple(conditions))

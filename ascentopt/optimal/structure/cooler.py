"""What cooler air at the fairing's drop costs, to second order."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.collocation import NotConverged, Problem, Solution, solve
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.run import pass_on_interrupt
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structure.moves import Drop
from ascentopt.optimal.transcription import DROP_HEATING
from ascentopt.optimal.transfer import price_of_heating

FOLDS = (1.0, 0.25, 0.06)
"""By which the logarithm of the limit is lowered, in turn: a factor e, over which the price grows
steadily; less where so much cooler air takes more propellant than is left."""

BRIEF = 30
"""Iterations from a solution of which one number has changed: it takes 5, or does not follow."""


def gain_to_second_order(solving: Solving, attempt: Attempt, move: Drop) -> float:
    """Kg that another place of the drop gains, with what the price of heating grows by on the way.

    The price grows with every factor of e by a larger step than the last, so this is more than what
    can be gained. Where the solver does not follow, the gain to first order.
    """
    growth = None if move.hotter <= FOLDS[0] else _growth(solving, attempt.found)
    return move.gain if growth is None else move.gain - 0.5 * growth * move.hotter**2


def _growth(solving: Solving, flight: Solution) -> float | None:
    """By how much the price of heating grows with a factor of e, kg; None where it is not known."""
    settings = solving.deadline.settings(replace(solving.settings, iterations=BRIEF))
    for fold in FOLDS:
        try:
            cooler = solve(_with_cooler_drop(flight, fold), flight, settings)
        except NotConverged as failure:
            pass_on_interrupt(failure)
            continue
        return max(price_of_heating(cooler) - price_of_heating(flight), 0.0) / fold
    return None


def _with_cooler_drop(flight: Solution, fold: float) -> Problem:
    conditions = []
    for condition in flight.problem.conditions:
        pairs = zip(condition.quantities, condition.bounds.upper, strict=True)
        upper = tuple(high - fold if q.name == DROP_HEATING else high for q, high in pairs)
        conditions.append(replace(condition, bounds=replace(condition.bounds, upper=upper)))
    return replace(flight.problem, conditions=tuple(conditions))

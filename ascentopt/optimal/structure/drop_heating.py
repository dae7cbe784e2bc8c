"""What cooler air at the fairing's drop costs, by how its price grows."""

from __future__ import annotations

from dataclasses import replace
from math import expm1, log

from ascentopt.collocation import NotConverged, Problem, Solution, solve
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.fairing_drops import MoveFairingDrop
from ascentopt.optimal.problem.joints import DROP_HEATING
from ascentopt.optimal.switching.fairing_drop import price_of_heating
from ascentopt.optimal.task import STEP_ITERATIONS, Task

FOLDS = (1.0, 0.25, 0.06)
"""By which the logarithm of the limit is lowered, in turn: a factor e, over which the price grows
steadily; less where so much cooler air takes more propellant than is left."""


def gain_as_the_price_grows(task: Task, attempt: Attempt, move: MoveFairingDrop) -> float:
    """Kg that another place of the drop gains, with what the price of heating grows by on the way.

    The air is exponential in altitude, and so is the price in the folds of heating to be taken off:
    by 1.73, 1.88 and 1.84 times for the first three of the example. With the factor of the first
    one the cost is price (f^x - 1) / ln f for x folds, and no less. Where that factor is not known,
    the gain to first order.
    """
    price, x = price_of_heating(attempt.found), move.log_heating_ratio
    factor = None if x <= FOLDS[0] or price <= 0.0 else _factor(task, attempt.found, price)
    if factor is None:
        return move.gain
    return move.gain_without_heating - price * expm1(x * log(factor)) / log(factor)


def _factor(task: Task, flight: Solution, price: float) -> float | None:
    """By which the price of heating grows with a fold of it; None where that is not known."""
    settings = task.in_time(replace(task.settings, iterations=STEP_ITERATIONS))
    for fold in FOLDS:
        try:
            cooler = solve(_with_cooler_drop(flight, fold), flight, settings)
        except NotConverged:
            continue
        factor = (price_of_heating(cooler) / price) ** (1.0 / fold)
        return factor if factor > 1.0 else None
    return None


def _with_cooler_drop(flight: Solution, fold: float) -> Problem:
    conditions = []
    for condition in flight.problem.conditions:
        pairs = zip(condition.quantities, condition.bounds.upper, strict=True)
        upper = tuple(high - fold if q.name == DROP_HEATING else high for q, high in pairs)
        conditions.append(replace(condition, bounds=replace(condition.bounds, upper=upper)))
    return replace(flight.problem, conditions=tuple(conditions))

"""When guidance takes over: as early as costs a flight as planned next to nothing."""

from __future__ import annotations

from math import inf, isfinite

import numpy as np

from ascentopt.errors import InputError
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.flights.flying import Flying
from ascentopt.guided.flights.told import outcomes_of
from ascentopt.guided.guidance.prepared import Prepared
from ascentopt.guided.outcomes import End
from ascentopt.guided.plan.planned_arc import EndOf

POSITION, VELOCITY = 100.0, 0.1
"""m and m/s that an insertion may miss its orbit by."""

PLACES = 16
"""Instants that are compared: a sixteenth of the way matters little, and each is a flight."""


def with_handover(plan: Prepared) -> Prepared:
    """The plan with the handover that suits it; without one where every instant costs too much.

    The later guidance takes over the less it costs, so that four or five flights tell which is the
    first instant that costs no more than `Guidance.cost`.
    """
    instants = _instants(plan)
    if not instants:
        return plan
    most = _cost(plan) + plan.guidance.cost
    low, high, best = -1, len(instants), plan
    while high - low > 1:
        tried = (low + high) // 2
        found = _taking_over(plan, *instants[tried], most)
        if found is None:
            low = tried
        else:
            high, best = tried, found
    return best


def _taking_over(plan: Prepared, first: int, since: float, most: float) -> Prepared | None:
    """The plan with that handover; None where it costs too much."""
    try:
        found = plan.handing_over(first, since)
    except InputError:
        return None
    cost = _cost(found)
    return found if isfinite(cost) and cost <= most else None


def _cost(plan: Prepared) -> float:
    """What a flight as planned burns too much, of all propellant; infinite beside the orbit."""
    stages, groups = len(plan.vehicle.stages), len(plan.vehicle.boosters)
    flying = Flying(plan, Deviations.none(1, stages=stages, groups=groups), track=False)
    flying.fly()
    told = outcomes_of(flying)
    missed = told.misses.position[0] > POSITION or told.misses.velocity[0] > VELOCITY
    if told.end[0] != End.IN_ORBIT or missed:
        return inf
    last = plan.arcs[-1]
    burned = plan.sequence.mass - last.end[6]
    return float((last.end[6] - told.final_state[0, 6]) / burned)


def _instants(plan: Prepared) -> list[tuple[int, float]]:
    """Arcs, and s into them, where nothing but engines of constant thrust burns until the cut-off.

    As long before the cut-off, at least, as there is something to be steered to a place.
    """
    last = plan.ends_of_legs()[0]
    first = last + 1
    for k in range(last, -1, -1):
        one = plan.arcs[k]
        if one.upright or one.with_boosters or (one.solid and k < last):
            break
        first = k
    if first > last:
        return []
    end = plan.arcs[last].began + plan.arcs[last].length - 2.0 * plan.guidance.place
    times = np.linspace(plan.arcs[first].began, end, PLACES)
    return [one for time in times for one in [_place(plan, first, last, float(time))] if one]


def _place(plan: Prepared, first: int, last: int, time: float) -> tuple[int, float] | None:
    """The arc that burns at a time or next, and the planned sample there."""
    thin = plan.thin
    for k in range(first, last + 1):
        one = plan.arcs[k]
        if not one.arc.burning or one.began + one.length <= time:
            continue
        if one.ending is EndOf.FAIRING and one.length == 0.0:
            continue
        times = one.flown.times
        sample = min(int(np.searchsorted(times, time)), len(times) - 1)
        if np.any(one.readings.dynamic_pressure[sample:] > thin):
            return None
        return k, float(times[sample] - times[0])
    return None

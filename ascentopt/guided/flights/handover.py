"""When guidance takes over: as early as costs a flight as planned next to nothing."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isfinite

import numpy as np

from ascentopt.errors import InputError
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.flights.flying import Flying
from ascentopt.guided.flights.told import outcomes_of
from ascentopt.guided.guidance.prepared import Prepared
from ascentopt.guided.outcomes import End, Outcomes
from ascentopt.guided.plan.planned_arc import EndOf

POSITION, VELOCITY = 100.0, 0.1
"""m and m/s that an insertion may miss its orbit by."""

PLACES = 16
"""Instants that are compared: a sixteenth of the way matters little, and each is a flight."""

THRUST, DRAG = 0.02, 0.2
"""Shares by which thrust and drag are off, either way, on the flights that tell which aim suits a
plan: hardly any flight is off by more (common practice, no source)."""


def made_ready(plan: Prepared) -> Prepared:
    """The plan with the aim, of the two that a short burn may have, and the handover that suit it.

    Which of the two suits it is seen on flights that differ: with the one more of them end in the
    orbit, or the worst of them leaves more.
    """
    found, other = with_handover(plan), plan.aimed_at_apoapses()
    if other is None:
        return found
    return max(found, with_handover(other), key=_with_differences)


def _with_differences(plan: Prepared) -> tuple[int, float]:
    """How many flights end in the orbit whose thrust or drag is off, and kg the worst leaves."""
    none = Deviations.none(4, stages=len(plan.vehicle.stages), groups=len(plan.vehicle.boosters))
    thrust = np.array([1.0 + THRUST, 1.0 - THRUST, 1.0, 1.0])[:, None] * none.thrust
    drag = np.array([1.0, 1.0, 1.0 + DRAG, 1.0 - DRAG])
    told = _flown(plan, replace(none, thrust=thrust, drag=drag))
    return int(np.sum(_good(told))), float(np.min(np.nan_to_num(told.margin)))


def _flown(plan: Prepared, deviations: Deviations) -> Outcomes:
    flying = Flying(plan, deviations, track=False)
    flying.fly()
    return outcomes_of(flying)


def _good(told: Outcomes) -> np.ndarray:
    """(N,) whether flights are in the orbit."""
    near = (told.misses.position <= POSITION) & (told.misses.velocity <= VELOCITY)
    return np.asarray(near & (told.end == End.IN_ORBIT))


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
    told = _flown(plan, Deviations.none(1, stages=stages, groups=groups))
    if not _good(told)[0]:
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

"""When a flown guess could drop its fairing."""

from __future__ import annotations

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.guess.flown_arcs import FlownArc
from ascentopt.optimal.problem.payload_heating import heating_at


def drop_time(flown: tuple[FlownArc, ...], limit: float) -> tuple[str, float]:
    """Name of the arc and time at which heating has fallen below ``limit`` W/m^2 for good.

    On an airless body, or where heating never reaches the limit, that is as soon as the pitch-over
    has begun; where it never falls below, as late as the last burn goes.
    """
    arcs = [arc for arc in flown if arc.arc.rise is None]
    hot = [np.flatnonzero(heating(arc) > limit) for arc in arcs]
    last = max((k for k, rows in enumerate(hot) if len(rows)), default=0)
    times = arcs[last].times
    row = int(hot[last][-1]) + 1 if len(hot[last]) else 1
    if row >= len(times) - 1 and last + 1 < len(arcs):
        last, row, times = last + 1, 1, arcs[last + 1].times
    inside = float(times[min(row, len(times) - 2)])
    return arcs[last].arc.name, inside


def middle_of(flown: tuple[FlownArc, ...], name: str) -> float:
    """Time halfway through the arc of this name."""
    arc = next(one for one in flown if one.arc.name == name)
    return float(0.5 * (arc.times[0] + arc.times[-1]))


def arc_and_time_of_drop(
    sequence: Sequence, flown: tuple[FlownArc, ...], plan: FlightPlan, limit: float
) -> tuple[str, float]:
    """Name of the arc in which the fairing goes, and when: by the plan, or else by the guess."""
    if plan.fairing_arc is not None:
        return plan.fairing_arc, middle_of(flown, plan.fairing_arc)
    arc, at = drop_time(flown, limit)
    index, arcs = sequence.names.index(arc), sequence.arcs
    place = next(k for k in range(index, -1, -1) if sequence.may_drop_in(k))
    if place == index:
        return arc, at
    return arcs[place].name, middle_of(flown, arcs[place].name)


def heating(flown: FlownArc) -> Array:
    """(k,) free-molecular heating along an arc in W/m^2."""
    return heating_at(flown.arc.kind, flown.states)

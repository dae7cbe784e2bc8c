"""Bounds that the user did not set: which of them act on an answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

import numpy as np

from ascentopt.collocation import Arc, Envelope, Problem
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.joints import DROP_ALTITUDE
from ascentopt.optimal.problem.path_limits import PitchRate
from ascentopt.units import deg

ACTS = 1e-5
"""Share of the mass in orbit that a bound must be worth to act: its price times its own size, what
doubling it would gain to first order."""

LONGER, FASTER = 1e-3, 1e-3
"""Share of itself by which a bound is moved to see what that is worth."""


def active_bounds(mission: Mission, attempt: Attempt) -> tuple[str, ...]:
    """Those that are worth something, in words."""
    least = ACTS * attempt.final_mass
    return tuple(text for worth, text in _worths(mission, attempt) if worth > least)


def _worths(mission: Mission, attempt: Attempt) -> Iterator[tuple[float, str]]:
    problem, envelope = attempt.found.problem, Envelope.of(attempt.found)

    def worth(changed: Problem, by: float) -> float:
        gained = envelope.change(changed)
        return inf if gained is None else abs(gained) / by

    if attempt.plan.longest_coast is None:
        for k, arc in enumerate(attempt.sequence.arcs):
            if not (arc.burning or arc.fixed):
                text = f"a coast lasts {arc.duration[1]:.0f} s at most ({arc.name})"
                yield worth(_with_longer(problem, k), LONGER), text
    if mission.limits.pitch_rate is None and any(
        a.kind.direction_is_state for a in attempt.sequence.arcs
    ):
        text = f"the direction turns by {MAX_TURN_RATE / deg:g} deg/s at most"
        yield worth(_with_faster(problem, attempt), FASTER), text
    yield from (
        (abs(price) * floor, "the fairing goes no lower than at a tenth of the orbit's speed")
        for price, floor in _at_the_drop(attempt)
    )


def _with_longer(problem: Problem, k: int) -> Problem:
    arcs = list(problem.arcs)
    low, high = arcs[k].duration
    arcs[k] = replace(arcs[k], duration=(low, high * (1.0 + LONGER)))
    return replace(problem, arcs=tuple(arcs))


def _with_faster(problem: Problem, attempt: Attempt) -> Problem:
    """The squared turn rate is bounded on every arc whose direction is a state."""
    arcs = zip(problem.arcs, attempt.sequence.arcs, strict=True)
    turned = (_faster(arc) if own.kind.direction_is_state else arc for arc, own in arcs)
    return replace(problem, arcs=tuple(turned))


def _faster(arc: Arc) -> Arc:
    bounds, rate = arc.path_bounds, PitchRate().quantity.name
    if bounds is None:
        return arc
    upper = tuple(
        high * (1.0 + FASTER) ** 2 if quantity.name == rate else high
        for high, quantity in zip(bounds.upper, arc.model.path, strict=True)
    )
    return replace(arc, path_bounds=replace(bounds, upper=upper))


def _at_the_drop(attempt: Attempt) -> Iterator[tuple[float, float]]:
    """Price (kg/m) and value (m) of the least altitude of the fairing's drop."""
    prices = iter(np.ravel(attempt.found.condition_multipliers))
    for condition in attempt.found.problem.conditions:
        for quantity, low in zip(condition.quantities, condition.bounds.lower, strict=True):
            price = float(next(prices))
            if quantity.name == DROP_ALTITUDE:
                yield price, low

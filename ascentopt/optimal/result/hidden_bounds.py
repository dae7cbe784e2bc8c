"""Bounds that the user did not set: which of them act on an answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import inf

import numpy as np

from ascentopt.collocation import Arc, Envelope, Problem
from ascentopt.flight.dynamics.elements import LEAST_NEARNESS
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import STEP
from ascentopt.optimal.problem.joints import DROP_ALTITUDE
from ascentopt.optimal.problem.path_limits import PitchRate
from ascentopt.optimal.problem.phase_model import NEARNESS
from ascentopt.units import deg

ACTS = 3e-5
"""Share of the propellant that a bound must be worth to act: its price times its own size, what
doubling it would gain to first order. A third of what an answer may be worse than the best."""

PathBounds = tuple[float, float]


def active_bounds(mission: Mission, attempt: Attempt, propellant: float) -> tuple[str, ...]:
    """Those that are worth something, in words, to a vehicle with so many kg of propellant."""
    least = ACTS * propellant
    return tuple(text for worth, text in _worths(mission, attempt) if worth > least)


def _worths(mission: Mission, attempt: Attempt) -> Iterator[tuple[float, str]]:
    problem, envelope = attempt.found.problem, Envelope.of(attempt.found)

    def worth(changed: Problem) -> float:
        gained = envelope.change(changed)
        return inf if gained is None else abs(gained) / STEP

    if attempt.plan.longest_coast is None:
        for k, arc in enumerate(attempt.sequence.arcs):
            if arc.free_coast:
                text = f"a coast lasts {arc.duration[1]:.0f} s at most ({arc.name})"
                yield worth(_with_longer(problem, k)), text
    yield from (
        (worth(_with_path_moved(problem, name, moved)), text)
        for name, moved, text in _path_bounds(mission)
    )
    yield from (
        (abs(price) * floor, "the fairing goes no lower than at a tenth of the orbit's speed")
        for price, floor in _at_the_drop(attempt)
    )


def _with_longer(problem: Problem, k: int) -> Problem:
    arcs = list(problem.arcs)
    low, high = arcs[k].duration
    arcs[k] = replace(arcs[k], duration=(low, high * (1.0 + STEP)))
    return replace(problem, arcs=tuple(arcs))


def _path_bounds(
    mission: Mission,
) -> Iterator[tuple[str, Callable[[PathBounds], PathBounds], str]]:
    """Name of the bounded quantity, its bounds moved, and what it is in words."""
    if mission.limits.pitch_rate is None:
        text = f"the direction turns by {MAX_TURN_RATE / deg:g} deg/s at most"
        # What is bounded is the square of the rate.
        yield PitchRate().quantity.name, lambda own: (own[0], own[1] * (1.0 + STEP) ** 2), text
    text = f"the radius is at most {1.0 / LEAST_NEARNESS:.0f} times the semilatus rectum"
    yield NEARNESS.name, lambda own: (own[0] * (1.0 + STEP), own[1]), text


def _with_path_moved(
    problem: Problem, name: str, moved: Callable[[PathBounds], PathBounds]
) -> Problem:
    return replace(problem, arcs=tuple(_path_moved(arc, name, moved) for arc in problem.arcs))


def _path_moved(arc: Arc, name: str, moved: Callable[[PathBounds], PathBounds]) -> Arc:
    bounds = arc.path_bounds
    if bounds is None:
        return arc
    own = zip(bounds.lower, bounds.upper, strict=True)
    pairs = [
        moved(pair) if quantity.name == name else pair
        for pair, quantity in zip(own, arc.model.path, strict=True)
    ]
    lower, upper = tuple(low for low, _ in pairs), tuple(high for _, high in pairs)
    return replace(arc, path_bounds=replace(bounds, lower=lower, upper=upper))


def _at_the_drop(attempt: Attempt) -> Iterator[tuple[float, float]]:
    """Price (kg/m) and value (m) of the least altitude of the fairing's drop."""
    prices = iter(np.ravel(attempt.found.condition_multipliers))
    for condition in attempt.found.problem.conditions:
        for quantity, low in zip(condition.quantities, condition.bounds.lower, strict=True):
            price = float(next(prices))
            if quantity.name == DROP_ALTITUDE:
                yield price, low

"""Flights of one tuning: each begun from those before, the best of them remembered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

import numpy as np

from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.evaluate.terminal_solve import InsertionNotSolved
from ascentopt.rules.tune.merit import cost_of
from ascentopt.rules.tune.scale import Scale

_BESIDE = 0.2  # of the scale of a number: nearer flights tell how to begin reliably
_SAME_WAY = 0.05  # flights that lie so nearly in one direction tell nothing of another


@dataclass(eq=False)
class Evaluations:
    """Flies, remembers the best and why others failed.

    Attributes:
        flight: whose numbers are sought.
        best, cost: the flight of least cost so far, and that.
        last: cost of the last flight into the orbit.
        tries: flights asked for.
        flown: those into the orbit.
        beyond_edges: those that would end there if they could be flown.
        failures: why others did not.
    """

    flight: RuleFlight
    best: ClosedRuleFlight | None = None
    cost: float = inf
    last: float = inf
    tries: int = 0
    flown: list[ClosedRuleFlight] = field(default_factory=list)
    beyond_edges: list[ClosedRuleFlight] = field(default_factory=list)
    failures: list[CompiledFlightError] = field(default_factory=list)

    @cached_property
    def scale(self) -> Scale:
        """On which the rule's numbers are sought."""
        return Scale(self.flight.rule.open)

    def __call__(self, place: tuple[float, ...]) -> ClosedRuleFlight | None:
        """The flight at a place on the scale of the numbers, be it imagined, or None."""
        values = self.scale.values(place)
        self.tries += 1
        if not self.scale.holds(place):
            return None
        try:
            closed = self._closed(values)
        except CompiledFlightError as failure:
            self.failures.append(failure)
            return None
        if closed.refusal is not None:
            self.failures.append(closed.refusal)
            self.beyond_edges.append(closed)
            return closed
        self.flown.append(closed)
        self.last = cost_of(self.flight, closed)
        if self.last < self.cost:
            self.best, self.cost = closed, self.last
        return closed

    def _closed(self, values: tuple[float, ...]) -> ClosedRuleFlight:
        known = [*self.flown, *self.beyond_edges] if self.flown else []
        near = extrapolated(known, values, self.scale)
        if near is None or self._distance(near, values) < _BESIDE:
            return self.flight.fly_beyond_edges(values, near)
        # What flights far away let expect may mislead, and where the insertion's own guess refuses
        # it knows why; only if nothing comes of the guess they may still help.
        try:
            return self.flight.fly_towards(values, near.heading)
        except InsertionNotSolved:
            return self.flight.fly_beyond_edges(values, near)

    def _distance(self, closed: ClosedRuleFlight, values: tuple[float, ...]) -> float:
        """Between places on the scale."""
        here, there = self.scale.places([closed.values, values])
        return float(np.linalg.norm(here - there))


def extrapolated(
    flown: Sequence[ClosedRuleFlight], values: tuple[float, ...], scale: Scale
) -> ClosedRuleFlight | None:
    """The nearest of some flights, its insertion moved on as the ones beside it let expect."""
    if not flown:
        return None
    ways = scale.places([closed.values for closed in flown]) - np.array(scale.place(values))
    order: list[int] = np.argsort(np.linalg.norm(ways, axis=1)).tolist()
    nearest = flown[order[0]]
    beside = [k for k in order[1 : ways.shape[1] + 2] if flown[k].law.plan == nearest.law.plan]
    if not beside:
        return nearest
    here = np.array([*nearest.unknowns, nearest.heading])
    ends = np.array([[*flown[k].unknowns, flown[k].heading] for k in beside])
    slopes = np.linalg.lstsq(ways[beside] - ways[order[0]], ends - here, rcond=_SAME_WAY)[0]
    *unknowns, heading = (here - ways[order[0]] @ slopes).tolist()
    return replace(nearest, unknowns=tuple(unknowns), heading=heading)

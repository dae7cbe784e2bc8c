"""Knots that lose least propellant, within the mission's limits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.knot_rule import numbers_of
from ascentopt.steering.knots import Knots
from ascentopt.studies.simplify.knot_descent import (
    NARROWEST,
    KnotDescent,
    KnotProblem,
    knots_flown,
)
from ascentopt.studies.simplify.knot_fit import PitchCurve
from ascentopt.typing import Floats

SLACK = 10.0
"""How much less exactly than the programme that is chosen others are closed: to 1 m."""


@dataclass(eq=False)
class KnotSearch:
    """Flies knots and keeps the best; not to be shared by threads.

    Args:
        flight: with a `KnotRule`.
        curve: the optimum's pitch; knots stay within its range.
        fixed: how many of the last pitches the insertion chooses.
        heading: rad from north, from which the heading is sought; None for due east, or north of
            it.
        heated: how many times hotter a coast gets than where an orbit around a point comes lowest.
    """

    flight: RuleFlight
    curve: PitchCurve
    fixed: int
    heading: float | None = None
    heated: float = 1.0
    best: ClosedRuleFlight | None = None
    cost: float = np.inf
    _settled: KnotDescent | None = None
    _flown: dict[bytes, ClosedRuleFlight | None] = field(default_factory=dict)
    _told: list[float] = field(default_factory=list)

    def improve(self, starts: Iterable[Knots], near: ClosedRuleFlight | None = None) -> None:
        """From the first of several programmes that flies move knots and pitches downhill.

        Limits that it breaks are the descent's business; where all of them owe propellant, from the
        one that owes least. A flight near by may help to close them.
        """
        start: ClosedRuleFlight | None = None
        for knots in starts:
            closed = self.fly(np.array(numbers_of(knots)), near or self._first)
            if closed is not None and (start is None or closed.debt < start.debt):
                start = closed
            if start is not None and start.debt == 0.0:
                break
        if start is not None:
            self._flown.clear()
            descent = KnotDescent(self._problem, start)
            closed, cost = descent.descend()
            if cost < self.cost:
                self._told.clear()
                self.best, self.cost, self._settled = closed, cost, descent

    @property
    def closed(self) -> list[ClosedRuleFlight]:
        """Flights to the orbit of the descent under way, and the best of those before it."""
        flown = [*self._flown.values(), self.best]
        return [one for one in flown if one is not None]

    @property
    def used(self) -> float:
        """Propellant of the best flight, kg; infinite without one."""
        return np.inf if self.best is None else self.best.propellant_used

    @property
    def _problem(self) -> KnotProblem:
        return KnotProblem(
            flight=self.flight,
            curve=self.curve,
            fixed=self.fixed,
            heated=self.heated,
            fly=self.fly,
        )

    def improve_again(self) -> None:
        """From the best, since what is asked has changed."""
        if self.best is not None:
            self.cost = np.inf
            self.improve([knots_flown(self.flight, self.best, self.fixed)], self.unshifted)

    @property
    def unshifted(self) -> ClosedRuleFlight | None:
        """The best flight, told with the shifts of its last pitches in its knots."""
        if self.best is None:
            return None
        free = (0.0,) * self.fixed
        return replace(self.best, unknowns=(*free, *self.best.unknowns[self.fixed :]))

    @cached_property
    def _first(self) -> ClosedRuleFlight | None:
        """A flight towards the side to which the optimum heads; None where it flies due east."""
        if self.heading is None:
            return None
        try:
            return self.flight.fly_towards(self.flight.habit(), self.heading)
        except CompiledFlightError:
            return None

    def widened(self, places: Sequence[float]) -> Knots | None:
        """The best programme with a knot more on its line, where moving that one pays most.

        Asked again, since it led to nothing better, another place. None where no place is clear of
        the knots, and of those that were told.
        """
        if self._settled is None or self.best is None:
            return None
        knots = knots_flown(self.flight, self.best, self.fixed)
        taken = (*knots.abscissae, *self._told)
        clear = [place for place in places if self._is_clear(taken, place)]
        if not clear:
            return None
        wider = [_with_knot(knots, place) for place in clear]
        most = int(np.argmax(self._settled.gains(self.best, wider)))
        self._told.append(clear[most])
        return wider[most]

    def _is_clear(self, taken: Sequence[float], place: float) -> bool:
        apart = min(abs(place - at) for at in taken)
        return apart > 2.0 * NARROWEST * self.curve.span

    def fly(self, values: Floats, near: ClosedRuleFlight | None) -> ClosedRuleFlight | None:
        """The flight with these numbers; None where there is none."""
        key = values.tobytes()
        if key not in self._flown:
            self._flown[key] = self._flown_now(values, near)
        return self._flown[key]

    def _flown_now(self, values: Floats, near: ClosedRuleFlight | None) -> ClosedRuleFlight | None:
        try:
            return self.flight.fly(tuple(map(float, values)), near)
        except CompiledFlightError:
            # The flight near by may be too far away to begin with; its insertion can be guessed.
            return None if near is self._first else self._flown_now(values, self._first)


def _with_knot(knots: Knots, place: float) -> Knots:
    """One knot more, on the line."""
    places = sorted((*knots.abscissae, place))
    pitches = tuple(map(float, knots.pitch(np.array(places))))
    return replace(knots, abscissae=tuple(places), pitches=pitches)

"""The numbers of a rule that cost least propellant."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import cycle, islice
from logging import getLogger
from math import inf

import numpy as np

from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.numerics.model_search import (
    Samples,
    SearchTask,
    search_by_models,
    terms_of_model,
)
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.refusals import BeyondOrbit
from ascentopt.rules.tune.bracket_scan import scan
from ascentopt.rules.tune.evaluations import Evaluations, extrapolated
from ascentopt.rules.tune.merit import (
    LIMIT_WEIGHT,
    cost_of,
    load_ratio,
    margin_ratios,
    ratios_with_debt,
)
from ascentopt.rules.tune.scale import Scale
from ascentopt.typing import Floats

_LOG = getLogger(__name__)

_LINES = 3
"""Values of each other number with which the scan is repeated."""

SLACK = 50.0
"""How much less exactly flights are closed than the last one: a centimetre a second, or 1e-5 rad
of inclination, is a millionth of the propellant."""

_SHARP = 3e-6  # of all propellant
_NARROW = 1e-3  # of the scale of a number
_MOST_TRIES = 32
_SURE = 2
"""Numbers up to which one search by models is enough: of more, what was asked near the least seldom
tells all slopes, and another search from there, with a box of another width, often finds less."""

_WIDTHS = (1.0, 3.0, 0.3)  # of the first box
_AGAIN = 3 * len(_WIDTHS)  # searches at most
_TRIES_PER_TERM = 6  # of a model, as many as `_MOST_TRIES` are for two numbers

_AT_EDGE = 0.1
"""km of apoapsis: a best flight so near to where another plan begins may be beaten beyond it."""

_LEAST_SHARE = 0.04  # of the whole way


@dataclass(frozen=True, eq=False, kw_only=True)
class Tuned:
    """What tuning found.

    Attributes:
        best: the flight with least cost; None where none was found.
        tries: flights flown.
        why: what went wrong, when none was found.
    """

    best: ClosedRuleFlight | None
    tries: int
    why: str = ""


def tune(flight: RuleFlight) -> Tuned:
    """Choose the rule's numbers for least propellant, limits kept where they can be.

    By each of the plans that the flight may choose among, the usual one first; by another only
    where those before it found no flight, or one that breaks a limit, owes propellant or lies at
    the edge beyond which the other begins, and where they failed by what it mends; or by one that
    may cost less though they fly (`Insertion.rivals`).

    The tipping number is scanned with the others at nominal values. Between a flight that is
    too steep for the orbit and a flatter one that falls, halving finds one that fits, if there is
    any. From the best of these all numbers are improved together (`numerics.model_search`), led
    along the edges of what can be flown; more than two of them several times. Where no plan finds a
    flight so, or only plans that give up more of a lower stage, the scan is repeated with other
    values of the others; of more than two numbers by each plan that found none. Only the last
    flight, with the numbers that are chosen, is closed in the orbit as exactly as any.
    """
    searches: list[_Search] = []
    for way in flight.ways:
        if _worth_while(way, searches):
            searches.append(_Search(way))
    for search in searches:
        if search.best is None and (search.sees_little or _all_begin_too_early(searches, search)):
            search.widen()
    reached = [search for search in searches if search.best is not None]
    tries = sum(search.tries for search in searches)
    if not reached:
        return Tuned(best=None, tries=tries, why=_telling(searches))
    best = min(reached, key=lambda search: (search.owes, search.cost))
    told = f"{flight.rule.name}, {flight.insertion.name}"
    _LOG.debug("%s: tuned to %.2f kg in %d flights", told, best.cost, tries)
    return Tuned(best=best.best, tries=tries)


class _Search:
    """The numbers of a flight by one plan.

    Attributes:
        best: the flight of least cost, closed exactly; None where none was found.
        why: what goes wrong without one.
    """

    def __init__(self, way: RuleFlight) -> None:
        self.way = way
        self.best: ClosedRuleFlight | None = None
        self._flights = Evaluations(replace(way, rule=way.rule.learning(), slack=SLACK))
        nominal, scale = way.nominal(), self._flights.scale
        self._others = scale.place(nominal)[:-1]
        self.why = scan(self._flights, self._others) if scale.free else "no number is open"
        for numbers in dict.fromkeys((nominal, way.habit())):
            self._flights(scale.place(numbers))
        self._end()

    def widen(self) -> None:
        """Scan again, with other values of the numbers that do not tip over."""
        for line in _lines(self._flights.scale, self._others):
            scan(self._flights, line)
        self._end()

    def _end(self) -> None:
        if self._flights.best is None:
            return
        _improve(self._flights)
        self.best = _exactly(self.way, self._flights)
        if self.best is None:
            self.why = "none of the flights that it found can be closed exactly"

    @property
    def sees_little(self) -> bool:
        """Whether one line of the scan says little of what all numbers together may do."""
        return len(self._flights.scale.free) > _SURE

    @property
    def tries(self) -> int:
        """Flights flown."""
        return self._flights.tries

    @property
    def cost(self) -> float:
        """Of the best one, kg."""
        return inf if self.best is None else cost_of(self.way, self.best)

    @property
    def owes(self) -> bool:
        """Whether even the best one has too little propellant."""
        return self.best is None or self.best.debt > 0.0

    @property
    def failures(self) -> list[CompiledFlightError]:
        """Why flights did not reach the orbit."""
        return self._flights.failures

    @property
    def settles(self) -> bool:
        """Whether no other plan can be expected to do better."""
        best = self.best
        if best is None or best.debt > 0.0 or load_ratio(self.way, best) > 1.0:
            return False
        return all(room.left > _AT_EDGE for room in best.margins if room.kind is BeyondOrbit)


def _worth_while(way: RuleFlight, before: list[_Search]) -> bool:
    """Whether another plan, or another end, may do better than those that were tried."""
    if any(search.settles for search in before) and not way.insertion.rivals:
        return False
    alike = [search for search in before if search.way.at == way.at]
    return way.insertion.mends_any([one for search in alike for one in search.failures])


def _all_begin_too_early(searches: list[_Search], search: _Search) -> bool:
    """Whether all flights that were found begin in a lower stage than another would."""
    refused = any(isinstance(one, BeyondOrbit) for one in search.failures)
    found = [one.way.starts_in for one in searches if one.best is not None]
    return not found or (refused and max(found) < search.way.starts_in)


def _telling(searches: list[_Search]) -> str:
    """Why there is no flight: by the first plan that fails by more than where it starts."""
    for search in searches:
        if any(not isinstance(one, BeyondOrbit) for one in search.failures):
            return search.why
    return searches[0].why if searches else "the vehicle lacks what it takes"


def _exactly(flight: RuleFlight, search: Evaluations) -> ClosedRuleFlight | None:
    """The best flight that can be closed exactly: at a fold of the insertion some cannot.

    One that owes nothing where there is one, whatever limits it breaks.
    """
    owing = None
    for rough in sorted(search.flown, key=lambda one: (one.debt > 0.0, cost_of(flight, one))):
        if owing is not None and rough.debt > 0.0:
            break
        try:
            closed = flight.fly(rough.values, rough)
        except CompiledFlightError:
            continue
        if closed.debt == 0.0:
            return closed
        owing = owing or closed
    return owing


def _lines(scale: Scale, others: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """Places of all numbers but the tipping one: each over its range, the rest nominal."""
    for number, (low, high) in enumerate(zip(scale.low[:-1], scale.high[:-1], strict=True)):
        for place in np.linspace(low, high, _LINES).tolist():
            yield (*others[:number], place, *others[number + 1 :])


def _improve(search: Evaluations) -> None:
    flight, propellant = search.flight, search.flight.vehicle.propellant_mass
    scale = search.scale
    count = len(scale.free)
    if not count:
        return

    def measured(closed: ClosedRuleFlight | None) -> Floats:
        if closed is None:
            return np.array([inf])
        return np.array(
            [closed.propellant_used, *ratios_with_debt(flight, closed), *margin_ratios(closed)]
        )

    known = Samples()
    for closed in (*search.flown, *search.beyond_edges):
        known.add(np.array(scale.place(closed.values)), measured(closed))
    task = SearchTask(
        measures=lambda place: measured(search(tuple(place.tolist()))),
        price=LIMIT_WEIGHT * propellant,
        sharp=_SHARP * propellant,
        narrow=_NARROW,
        most=max(_MOST_TRIES, _TRIES_PER_TERM * terms_of_model(count)),
        low=scale.low,
        high=scale.high,
    )
    box = [0.3] * (count - 1) + [0.1]
    search_by_models(task, known, box)
    if count > _SURE:
        _search_again(search, task, known, box)


def _search_again(
    search: Evaluations, task: SearchTask, known: Samples, box: Sequence[float]
) -> None:
    """From the best on, with boxes of each width in turn, until none of them finds less."""
    in_vain = 0
    for width in islice(cycle(_WIDTHS), _AGAIN):
        before, known.asked = search.cost, 0
        search_by_models(task, known, [width * half for half in box])
        in_vain = in_vain + 1 if before - search.cost < task.sharp else 0
        if in_vain == len(_WIDTHS):
            return


def led(flight: RuleFlight, values: tuple[float, ...], start: ClosedRuleFlight) -> ClosedRuleFlight:
    """Fly with these numbers, led there by flights between them and one that reaches the orbit.

    An insertion whose first guess misleads is found so. All fly by the plan of the start. Where
    flights on the way owe propellant, each more than the one before, those beyond do so as well.

    Raises:
        CompiledFlightError: when no step towards them succeeds.
    """
    way = next((one for one in flight.ways if one.flew(start)), flight)
    rough = replace(way, rule=way.rule.learning(), slack=SLACK)
    scale = Scale(flight.rule.open)
    flown, at, step, grows = [start], 0.0, 1.0, True
    while at < 1.0:
        share = min(1.0, at + step)
        ahead = values if share == 1.0 else scale.values(_between(scale, start, values, share))
        try:
            flown.append(rough.fly(ahead, extrapolated(flown[-2:], ahead, scale)))
        except CompiledFlightError:
            step, grows = 0.5 * (share - at), False
            if step < _LEAST_SHARE:
                raise
            continue
        if share < 1.0:
            _refuse_sinking(*flown[-2:])
        at, step, grows = share, 2.0 * step if grows else step, True
    return way.fly(values, flown[-1])


def _refuse_sinking(before: ClosedRuleFlight, after: ClosedRuleFlight) -> None:
    if after.debt > before.debt > 0.0:
        told = f"{after.debt:.0f} kg of propellant are missing on the way there, and ever more"
        raise CompiledFlightError(told)


def _between(
    scale: Scale, here: ClosedRuleFlight, values: tuple[float, ...], share: float
) -> tuple[float, ...]:
    """Place a share of the way from a flight's numbers to others."""
    one, other = scale.places([here.values, values])
    return tuple((one + share * (other - one)).tolist())

"""The numbers of a rule that cost least propellant."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import exp, inf, log

import numpy as np

from ascentopt.flight.quick import Fell, OffCourse
from ascentopt.rules.closing import NotClosed
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.rules.insertion import NoTimeToCoast, TooFlat
from ascentopt.rules.valley import Known, Task, descend
from ascentopt.world.table import Floats

_SCAN = 13
"""Values of the tipping number that are tried first, evenly in its logarithm."""

_LINES = 3
"""Values of each other number with which the scan is repeated."""

_RISES = 3
"""Flights in a row, ever steeper and each worse than the one before, after which a scan ends."""

_SLACK = 20.0
"""How much less exactly flights are closed than the last one: 2 mm/s are grams."""

_HALVINGS = 16
"""Halvings between a flight that is too steep and one that is too flat, until one fits between."""

_SHARP = 1e-6  # of all propellant
_NARROW = 1e-3  # of the logarithm of a number
_MOST_TRIES = 32

_BESIDE = 0.2  # of the logarithm of a number: nearer flights tell how to begin reliably

_SAME_WAY = 0.05  # flights that lie so nearly in one direction tell nothing of another

_LEAST_SHARE = 0.05  # of the way that is left, in logarithms

BROKEN = 1.0
"""Part of all propellant that a limit exceeded by 100 per cent counts as in tuning."""

OWED = 1000.0
"""How many times dearer than a limit exceeded by its like is a share of the propellant that is
missing: a flight that owes a kilogram reaches no orbit, one that breaks a limit does."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Tuned:
    """What tuning found.

    Attributes:
        best: the flight with least cost; None where none was found.
        tries: flights flown.
        why: what went wrong, when none was found.
    """

    best: Closed | None
    tries: int
    why: str = ""


@dataclass(eq=False)
class _Search:
    """Flies, remembers the best and why others failed."""

    flight: RuleFlight
    best: Closed | None = None
    cost: float = inf
    last: float = inf  # cost of the last flight into the orbit
    tries: int = 0
    flown: list[Closed] = field(default_factory=list)
    failures: list[OffCourse] = field(default_factory=list)

    def __call__(self, logs: tuple[float, ...]) -> Closed | None:
        """The flight at the logarithms of the numbers, or None."""
        values = tuple(exp(v) for v in logs)
        self.tries += 1
        if any(
            not one.low * (1.0 - 1e-9) <= v <= one.high * (1.0 + 1e-9)
            for one, v in zip(self.flight.rule.open, values, strict=True)
        ):
            return None
        try:
            closed = self._closed(values)
        except OffCourse as failure:
            self.failures.append(failure)
            return None
        self.flown.append(closed)
        self.last = cost_of(self.flight, closed)
        if self.last < self.cost:
            self.best, self.cost = closed, self.last
        return closed

    def _closed(self, values: tuple[float, ...]) -> Closed:
        near = foreseen(self.flown, values)
        if near is None or _distance(near, values) < _BESIDE:
            return self.flight.at(values, near)
        # What flights far away let expect may mislead, and where the insertion's own guess refuses
        # it knows why; only if nothing comes of the guess they may still help.
        try:
            return self.flight.towards(values, near.heading)
        except NotClosed:
            return self.flight.at(values, near)


def _distance(closed: Closed, values: tuple[float, ...]) -> float:
    """Between the logarithms of numbers."""
    return float(np.linalg.norm(np.log(closed.values) - np.log(values)))


def foreseen(flown: Sequence[Closed], values: tuple[float, ...]) -> Closed | None:
    """The nearest of some flights, its insertion moved on as the ones beside it let expect."""
    if not flown:
        return None
    ways = np.log([closed.values for closed in flown]) - np.log(values)
    order: list[int] = np.argsort(np.linalg.norm(ways, axis=1)).tolist()
    nearest = flown[order[0]]
    beside = [k for k in order[1 : len(values) + 2] if flown[k].law.plan == nearest.law.plan]
    if not beside:
        return nearest
    here = np.array([*nearest.unknowns, nearest.heading])
    ends = np.array([[*flown[k].unknowns, flown[k].heading] for k in beside])
    slopes = np.linalg.lstsq(ways[beside] - ways[order[0]], ends - here, rcond=_SAME_WAY)[0]
    *unknowns, heading = (here - ways[order[0]] @ slopes).tolist()
    return replace(nearest, unknowns=tuple(unknowns), heading=heading)


def cost_of(flight: RuleFlight, closed: Closed) -> float:
    """Propellant in kg, and what owing some, or exceeding the mission's limits, counts as."""
    excess = max(0.0, max(ratios(flight, closed)) - 1.0)
    return closed.propellant_used + BROKEN * flight.vehicle.propellant_mass * excess


def ratios(flight: RuleFlight, closed: Closed) -> list[float]:
    """What must not exceed one: of each load to its limit; and of what is owed, as `OWED` says."""
    left = flight.margin(closed) / flight.vehicle.propellant_mass
    return [*load_ratios(flight, closed), 1.0 - OWED * left]


def load_ratio(flight: RuleFlight, closed: Closed) -> float:
    """Greatest ratio of a load to its limit; zero without limits."""
    return max([0.0, *load_ratios(flight, closed)])


def load_ratios(flight: RuleFlight, closed: Closed) -> list[float]:
    """Ratio of each load that is limited to its limit."""
    limits = flight.mission.limits
    pairs = zip(
        closed.end.peaks,
        (limits.dynamic_pressure, limits.q_alpha, limits.axial_acceleration),
        strict=True,
    )
    return [peak / limit for peak, limit in pairs if limit is not None]


def tune(flight: RuleFlight) -> Tuned:
    """Choose the rule's numbers for least propellant, limits kept where they can be.

    The tipping number is scanned with the others at the habit's values. Between a flight that is
    too steep for the orbit and a flatter one that falls, halving finds one that fits, if there is
    any. From the best of these all numbers are improved together (`rules.valley`). Where no flight
    is found so the scan is repeated with other values of the others. Only the last flight, with the
    numbers that are chosen, is closed in the orbit as exactly as any.
    """
    search = _Search(replace(flight, rule=flight.rule.learning(), slack=_SLACK))
    habit = flight.habit()
    others = tuple(log(v) for v in habit[:-1])
    why = _scan(search, others)
    search((*others, log(habit[-1])))
    if search.best is None:
        for line in _lines(flight, others):
            _scan(search, line)
    if search.best is None:
        return Tuned(best=None, tries=search.tries, why=why)
    _improve(search)
    best = _exactly(flight, search)
    lost = "" if best else "none of the flights that it found can be closed exactly"
    return Tuned(best=best, tries=search.tries, why=lost)


def _exactly(flight: RuleFlight, search: _Search) -> Closed | None:
    """The best flight that can be closed exactly: at a fold of the insertion some cannot.

    One that owes nothing where there is one, whatever limits it breaks.
    """
    owing = None
    for rough in sorted(search.flown, key=lambda one: (one.debt > 0.0, cost_of(flight, one))):
        if owing is not None and rough.debt > 0.0:
            break
        try:
            closed = flight.at(rough.values, rough)
        except OffCourse:
            continue
        if closed.debt == 0.0:
            return closed
        owing = owing or closed
    return owing


def _lines(flight: RuleFlight, others: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    """Logarithms of all numbers but the tipping one: each over its range, the rest by habit."""
    for place, one in enumerate(flight.rule.open[:-1]):
        for value in np.linspace(log(one.low), log(one.high), _LINES).tolist():
            yield (*others[:place], value, *others[place + 1 :])


def led(flight: RuleFlight, values: tuple[float, ...], start: Closed) -> Closed:
    """Fly with these numbers, led there by flights between them and one that reaches the orbit.

    An insertion whose first guess misleads is found so.

    Raises:
        OffCourse: when no step towards them succeeds.
    """
    here, share = start, 1.0
    while True:
        ahead = tuple(
            wanted if share == 1.0 else a * (wanted / a) ** share
            for a, wanted in zip(here.values, values, strict=True)
        )
        try:
            here = flight.at(ahead, here)
        except OffCourse:
            share *= 0.5
            if share < _LEAST_SHARE:
                raise
            continue
        if share == 1.0:
            return here
        share = min(1.0, 2.0 * share)


def _scan(search: _Search, others: tuple[float, ...]) -> str:
    """Try the tipping number over its range, and within the gap between too steep and too flat.

    From flat to steep until the cost has risen some times in a row: flights that are ever steeper
    are dear to close. Returns what lies on either side where none fits.
    """
    low, high = search.flight.rule.open[-1].low, search.flight.rule.open[-1].high
    known, costs = len(search.flown), [inf]
    flat = _Side(at=log(high), why="")
    steep = bottom = _Side(at=log(low), why="nothing is tried")
    for at in np.linspace(log(high), log(low), _SCAN).tolist():
        side = _side(search, (*others, at))
        if side is None:
            costs.append(search.last)
        elif not side.flat:
            steep = side if steep is bottom else steep
        elif steep is bottom:
            flat = side
        if len(costs) > _RISES and all(a < b for a, b in pairwise(costs[-_RISES - 1 :])):
            break
    if len(search.flown) == known:
        steep, flat = _halved(search, others, (steep, flat))
    return f"too steep: {steep.why}; a little more: {flat.why}" if flat.why else steep.why


def _halved(
    search: _Search, others: tuple[float, ...], sides: tuple[_Side, _Side]
) -> tuple[_Side, _Side]:
    """Halve the gap between too steep and too flat until a flight fits, or plainly none will.

    Where a flatter flight has even less of the time to coast that it needs none fits: none has
    any left where it begins to sink before it can be cut off.
    """
    (steep, flat), known = sides, len(search.flown)
    for _ in range(_HALVINGS):
        side = _side(search, (*others, 0.5 * (steep.at + flat.at)))
        if len(search.flown) > known:
            break
        if side is None:
            continue
        if side.flat:
            flat = side
            continue
        ever_less, steep = 0.0 < side.share < steep.share, side
        if ever_less:
            break
    return steep, flat


@dataclass(frozen=True, kw_only=True)
class _Side:
    """On which side of an orbit a flight without one went: logarithm of its number, and why."""

    at: float
    why: str
    flat: bool = False
    share: float = 0.0  # of the time to coast that it would take, where that is what lacks


def _side(search: _Search, logs: tuple[float, ...]) -> _Side | None:
    """None for a flight into the orbit, or one out of bounds."""
    count = len(search.failures)
    if search(logs) is not None or len(search.failures) == count:
        return None
    failure = search.failures[-1]
    return _Side(
        at=logs[-1],
        why=str(failure),
        flat=isinstance(failure, Fell | TooFlat),
        share=failure.share if isinstance(failure, NoTimeToCoast) else 0.0,
    )


def _improve(search: _Search) -> None:
    flight, propellant = search.flight, search.flight.vehicle.propellant_mass

    def measured(closed: Closed | None) -> Floats:
        if closed is None:
            return np.array([inf])
        return np.array([closed.propellant_used, *ratios(flight, closed)])

    known = Known()
    for closed in search.flown:
        known.add(np.log(closed.values), measured(closed))
    task = Task(
        measures=lambda logs: measured(search(tuple(logs.tolist()))),
        price=BROKEN * propellant,
        sharp=_SHARP * propellant,
        narrow=_NARROW,
        most=_MOST_TRIES,
    )
    descend(task, known, [0.3] * (len(flight.rule.open) - 1) + [0.1])

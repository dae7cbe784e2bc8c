"""The numbers of a rule that cost least propellant."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import exp, inf, log

import numpy as np

from ascentopt.flight.quick import Fell, OffCourse
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.rules.insertion import TooFlat
from ascentopt.rules.valley import Known, Task, descend
from ascentopt.world.table import Floats

_SCAN = 13
"""Values of the tipping number that are tried first, evenly in its logarithm."""

_LINES = 3
"""Values of each other number with which the scan is repeated."""

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
        cost = cost_of(self.flight, closed)
        if cost < self.cost:
            self.best, self.cost = closed, cost
        return closed

    def _closed(self, values: tuple[float, ...]) -> Closed:
        near = foreseen(self.flown, values)
        try:
            return self.flight.at(values, near)
        except OffCourse:
            if near is None or _distance(near, values) < _BESIDE:
                raise
            # What flights far away let expect may mislead, and then even the side on which the
            # orbit is missed: the insertion can be guessed as well.
            return self.flight.at(values)


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
    """Propellant in kg, and what exceeding the mission's limits counts as."""
    return closed.propellant_used + BROKEN * flight.vehicle.propellant_mass * excess_of(
        flight, closed
    )


def excess_of(flight: RuleFlight, closed: Closed) -> float:
    """Greatest ratio of a load to its limit, less one; zero where all hold."""
    return max(0.0, load_ratio(flight, closed) - 1.0)


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
    is found so the scan is repeated with other values of the others.
    """
    search, habit = _Search(flight), flight.habit()
    others = tuple(log(v) for v in habit[:-1])
    why = _scan(search, others)
    search((*others, log(habit[-1])))
    if search.best is None:
        for line in _lines(flight, others):
            _scan(search, line)
    if search.best is None:
        return Tuned(best=None, tries=search.tries, why=why)
    _improve(search)
    return Tuned(best=search.best, tries=search.tries)


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

    Returns what lies on either side where none fits.
    """
    low, high = search.flight.rule.open[-1].low, search.flight.rule.open[-1].high
    step, known = log(high / low) / (_SCAN - 1), len(search.flown)
    top = _Side(at=log(high), why="")
    steep, flat = _Side(at=log(low), why="nothing is tried"), top
    for k in range(_SCAN):
        side = _side(search, (*others, log(low) + k * step))
        if side is None:
            continue
        if not side.flat:
            steep, flat = side, top
        elif flat is top:
            flat = side
        if side.fell:
            break
    for _ in range(_HALVINGS):
        if len(search.flown) > known:
            return ""
        side = _side(search, (*others, 0.5 * (steep.at + flat.at)))
        if side is not None:
            steep, flat = (steep, side) if side.flat else (side, flat)
    return f"too steep: {steep.why}; a little more: {flat.why}" if flat.why else steep.why


@dataclass(frozen=True, kw_only=True)
class _Side:
    """On which side of an orbit a flight without one went: logarithm of its number, and why."""

    at: float
    why: str
    flat: bool = False
    fell: bool = False


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
        fell=isinstance(failure, Fell),
    )


def _improve(search: _Search) -> None:
    flight, propellant = search.flight, search.flight.vehicle.propellant_mass

    def measured(closed: Closed | None) -> Floats:
        if closed is None:
            return np.array([inf])
        return np.array([closed.propellant_used, *load_ratios(flight, closed)])

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

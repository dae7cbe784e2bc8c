"""The numbers of a rule that cost least propellant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import exp, inf, log

from ascentopt.flight.quick import Fell, OffCourse
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.rules.insertion import TooFlat, TooHigh

_SCAN = 13
"""Values of the tipping number that are tried first, evenly in its logarithm."""

_HALVINGS = 16
"""Halvings between a flight that is too steep and one that is too flat, until one fits between."""

_SHARP = 1e-3  # of the logarithm of a number
_MOST_TRIES = 32

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
    failures: list[OffCourse] = field(default_factory=list)

    def __call__(self, logs: tuple[float, ...]) -> float:
        """Cost in kg at the logarithms of the numbers; infinite where there is no flight."""
        values = tuple(exp(v) for v in logs)
        self.tries += 1
        if any(
            not one.low * (1.0 - 1e-9) <= v <= one.high * (1.0 + 1e-9)
            for one, v in zip(self.flight.rule.open, values, strict=True)
        ):
            return inf
        try:
            closed = self.flight.at(values, self.best)
        except OffCourse as failure:
            self.failures.append(failure)
            return inf
        cost = cost_of(self.flight, closed)
        if cost < self.cost:
            self.best, self.cost = closed, cost
        return cost


def cost_of(flight: RuleFlight, closed: Closed) -> float:
    """Propellant in kg, and what exceeding the mission's limits counts as."""
    return closed.propellant_used + BROKEN * flight.vehicle.propellant_mass * excess_of(
        flight, closed
    )


def excess_of(flight: RuleFlight, closed: Closed) -> float:
    """Greatest ratio of a load to its limit, less one; zero where all hold."""
    limits = flight.mission.limits
    pairs = zip(
        closed.end.peaks,
        (limits.dynamic_pressure, limits.q_alpha, limits.axial_acceleration),
        strict=True,
    )
    return max([0.0, *(peak / limit - 1.0 for peak, limit in pairs if limit is not None)])


def tune(flight: RuleFlight) -> Tuned:
    """Choose the rule's numbers for least propellant, limits kept where they can be.

    The tipping number is scanned with the others at the habit's values. Between a flight that is
    too steep for the orbit and a flatter one that falls, halving finds one that fits, if there is
    any. From the best of these all numbers are improved by the simplex method of Nelder and Mead.
    """
    search, habit = _Search(flight), flight.habit()
    others = tuple(log(v) for v in habit[:-1])
    _scan(search, others, flight.rule.open[-1].low, flight.rule.open[-1].high)
    search((*others, log(habit[-1])))
    if search.best is None:
        return Tuned(best=None, tries=search.tries, why=_commonest(search.failures))
    _improve(search)
    return Tuned(best=search.best, tries=search.tries)


def _scan(search: _Search, others: tuple[float, ...], low: float, high: float) -> None:
    """Try the tipping number over its range, and within the gap between too steep and too flat."""
    step = log(high / low) / (_SCAN - 1)
    steep, flat = log(low), log(high)
    for k in range(_SCAN):
        at = log(low) + k * step
        found, side = _side(search, (*others, at))
        if found == inf and side is TooHigh:
            steep = at
        if found == inf and side is Fell:
            flat = at
            break
    for _ in range(_HALVINGS):
        if search.best is not None:
            return
        middle = 0.5 * (steep + flat)
        _, side = _side(search, (*others, middle))
        steep, flat = (middle, flat) if side is TooHigh else (steep, middle)


def _side(search: _Search, logs: tuple[float, ...]) -> tuple[float, type[OffCourse] | None]:
    """Cost, and without a flight whether it is too steep or too flat."""
    count = len(search.failures)
    cost = search(logs)
    if cost < inf or len(search.failures) == count:
        return cost, None
    return cost, Fell if isinstance(search.failures[-1], Fell | TooFlat) else TooHigh


def _improve(search: _Search) -> None:
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.optimize import minimize

    start = tuple(log(v) for v in search.best.values) if search.best is not None else ()
    reach = [0.3] * (len(start) - 1) + [0.1]
    corners = [start, *(_moved(start, k, step) for k, step in enumerate(reach))]
    cost: Callable[[tuple[float, ...]], float] = lambda logs: search(tuple(logs))  # noqa: E731
    minimize(
        cost,
        start,
        method="Nelder-Mead",
        options={
            "initial_simplex": corners,
            "xatol": _SHARP,
            "fatol": 1e-6 * search.flight.vehicle.propellant_mass,
            "maxfev": _MOST_TRIES,
        },
    )


def _moved(start: tuple[float, ...], place: int, step: float) -> tuple[float, ...]:
    return tuple(v + step if k == place else v for k, v in enumerate(start))


def _commonest(failures: list[OffCourse]) -> str:
    """What most failures say, of those nearest to an orbit: not the ones that fell."""
    told = [str(f) for f in failures if not isinstance(f, Fell)] or [str(f) for f in failures]
    return max(set(told), key=told.count) if told else "no flight was tried"

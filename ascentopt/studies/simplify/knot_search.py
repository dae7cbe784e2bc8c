"""Knots that lose least propellant, within the mission's limits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from ascentopt.flight.compiled.compiled_flight import CompiledFlightError
from ascentopt.numerics.trust_region import ElasticProblem, Patience, search_in_trust_region
from ascentopt.rules.evaluate.rule_flight import ClosedRuleFlight, RuleFlight
from ascentopt.rules.evaluate.terminal_solve import TURN
from ascentopt.rules.laws.knot_rule import knots_from, numbers_of
from ascentopt.rules.tune.merit import cost_of
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against
from ascentopt.studies.simplify.knot_fit import PitchCurve
from ascentopt.studies.simplify.open_flight import Choice, OpenFlights, follow
from ascentopt.typing import Floats
from ascentopt.units import deg

_NUDGE = 0.1
"""Of a degree, and of `_STRIDE`: large beside what closing the orbit roughly leaves to chance."""

SLACK = 10.0
"""How much less exactly than the programme that is chosen others are closed: to 1 m."""

_STRIDE = 0.01  # of the whole range: a change of an abscissa that matters as a degree does
_NARROWEST = 0.01  # of the whole range, between two knots
_PITCHES = -30.0 * deg, 90.0 * deg
_WITHIN = 3e-4
"""Part of a limit that is kept clear of: loads between the ends of steps are interpolated."""

_UNIT = 1e-5  # of the propellant: what the search counts cost in
_SHARP = 0.2  # of these: cost no longer worth a step
_PRICE = 50.0
"""Of a hundredth by which a limit is exceeded, in these: ten times what limits are ever worth."""

_MOST_STEPS = 20
_THICK = 0.05  # of the greatest dynamic pressure: below it no load comes near its limit


@dataclass(eq=False)
class KnotSearch:
    """Flies knots and keeps the best; not to be shared by threads.

    Args:
        flight: with a `KnotRule`.
        curve: the optimum's pitch; knots stay within its range.
        fixed: how many of the last pitches the insertion chooses.
    """

    flight: RuleFlight
    curve: PitchCurve
    fixed: int
    best: ClosedRuleFlight | None = None
    cost: float = np.inf
    _flown: dict[bytes, ClosedRuleFlight | None] = field(default_factory=dict)

    def improve(self, starts: Iterable[Knots]) -> None:
        """From the cheapest of several programmes move knots and pitches downhill."""
        flown = [self.fly(np.array(numbers_of(knots)), None) for knots in starts]
        reached = [closed for closed in flown if closed is not None]
        if reached:
            start = min(reached, key=lambda closed: cost_of(self.flight, closed))
            self._flown.clear()
            _Local(self, start).descend()

    def fly(self, values: Floats, near: ClosedRuleFlight | None) -> ClosedRuleFlight | None:
        """The flight with these numbers; None where there is none."""
        key = values.tobytes()
        if key not in self._flown:
            self._flown[key] = self._flown_now(values, near)
        return self._flown[key]

    def _flown_now(self, values: Floats, near: ClosedRuleFlight | None) -> ClosedRuleFlight | None:
        try:
            closed = self.flight.fly(tuple(map(float, values)), near)
        except CompiledFlightError:
            # The flight near by may be too far away to begin with; its insertion can be guessed.
            return None if near is None else self._flown_now(values, None)
        cost = cost_of(self.flight, closed)
        if cost < self.cost:
            self.best, self.cost = closed, cost
        return closed


class _Local:
    """Cost and limits against changes of the numbers, in degrees and strides, from a start."""

    def __init__(self, search: KnotSearch, start: ClosedRuleFlight) -> None:
        self.search, self.start, self.near = search, start, start
        self.values = np.array(start.values)
        knots = len(self.values) // 2
        self.stride = _STRIDE * search.curve.span
        self.sizes = np.repeat([self.stride, 1.0 * deg], knots)
        self.count, self.knots = 2 * knots - search.fixed, knots
        limits = search.flight.mission.limits
        loads = limits.dynamic_pressure, limits.q_alpha
        self.limits = [(k, limit) for k, limit in enumerate(loads) if limit is not None]
        self.open = OpenFlights(search.flight, start)
        self.times = _airborne(self.open.loads) if self.limits else np.zeros(0)
        self.limits = self.limits if len(self.times) else []
        self.until = float(self.times[-1]) if self.limits else 0.0
        self.unit = _UNIT * search.flight.vehicle.propellant_mass
        self.follows = np.zeros((len(start.unknowns) + 1, self.count))

    def descend(self) -> None:
        """Downhill within the limits; the search remembers the best."""
        low, high = self._bounds()
        places = np.eye(self.knots, self.count)
        hill = ElasticProblem(
            measures=self.measures,
            slopes=self.slopes,
            matrix=places[1:] - places[:-1],
            offsets=np.diff(self.values[: self.knots]) / self.stride - _NARROWEST / _STRIDE,
            low=low,
            high=high,
            price=_PRICE,
        )
        search_in_trust_region(
            hill, np.zeros(self.count), Patience(steps=_MOST_STEPS, sharp=_SHARP)
        )

    def slopes(self, x: Floats) -> Floats:
        """(1 + limits, count) of cost and room, the insertion following so that the orbit is met.

        By flights whose ends are left open, one for each number and for each unknown.
        """
        self.measures(x)  # which closes the flight, if it is not the one at hand
        self.open = OpenFlights(self.search.flight, self.near, self.until)
        own = self._columns([self._nudged(x, k) for k in range(self.count)], _NUDGE)
        unknowns, steps = self._loosened()
        others = self._columns(unknowns, 1.0) / steps
        met = len(self.open.end) - 1
        self.follows = follow(own[:met], others[:met])
        sizes = [*self._unknown_sizes(), TURN][:met]
        self.near = replace(self.near, slope=others[:met] * sizes)
        total = own + others @ self.follows
        return np.asarray(total[met:])

    def _columns(self, changes: list[tuple[Choice, float]], step: float) -> Floats:
        """(e + 1 + rooms, n) slopes: of the measures to be met, the cost and the rooms."""
        here, rooms = self.open.end, self._rooms(self.open.loads)
        columns = []
        for choice, since in changes:
            end, loads = self.open.changed(choice, since, loads=bool(self.limits))
            change = end - here
            column = [*change[1:], change[0] / self.unit, *(self._rooms(loads) - rooms)]
            columns.append(np.array(column) / step)
        return np.array(columns).T

    def _nudged(self, x: Floats, k: int) -> tuple[Choice, float]:
        """A choice with one number changed, and from when on it flies differently."""
        changed = x.copy()
        changed[k] += _NUDGE
        values = tuple(map(float, self._moved(changed)))
        return replace(Choice.of(self.near), values=values), self._since(k % self.knots)

    def _since(self, knot: int) -> float:
        """When the flight has not passed the knot before, s: what comes later depends on this."""
        if knot == 0:
            return self.open.steered
        before = self.near.values[knot - 1]
        in_time = self.search.curve.against is Against.TIME
        return max(before, self.open.steered) if in_time else self.open.before_altitude(before)

    def _loosened(self) -> tuple[list[tuple[Choice, float]], Floats]:
        """Choices with one unknown changed, and by how much; the heading where it is one."""
        base, flight = Choice.of(self.near), self.search.flight
        sizes = [_NUDGE * size for size in self._unknown_sizes()]
        found = []
        for k, size in enumerate(sizes):
            moved = tuple(u + size * (j == k) for j, u in enumerate(base.unknowns))
            since = self.open.inserting
            if k < self.search.fixed:  # a shift of one of the last pitches
                since = max(since, self._since(self.knots - 1 - k))
            found.append((replace(base, unknowns=moved), since))
        if flight.mission.orbit.inclination is not None:
            sizes.append(_NUDGE * deg)
            found.append((replace(base, heading=base.heading + sizes[-1]), self.open.steered))
        return found, np.array(sizes)

    def _unknown_sizes(self) -> tuple[float, ...]:
        flight = self.search.flight
        return flight.insertion.sizes(flight.radius, flight.speed)

    def _bounds(self) -> tuple[Floats, Floats]:
        """(count,) least and greatest change."""
        first, last = self.search.curve.at[[0, -1]]
        ends = np.array([(first + 0.5 * self.stride, last)] * self.knots + [_PITCHES] * self.knots)
        low, high = ((ends - self.values[:, None]) / self.sizes[:, None]).T
        return np.minimum(low, 0.0)[: self.count], np.maximum(high, 0.0)[: self.count]

    def _moved(self, x: Floats) -> Floats:
        values = self.values.copy()
        values[: self.count] += self.sizes[: self.count] * x
        return values

    def measures(self, x: Floats) -> Floats:
        """(1 + rooms,) cost beyond the start's, and what is left to limits on loads.

        The loads are looked at instant by instant: a peak jumps from one hump to another.
        """
        values = self._moved(x)
        rising = bool(np.all(np.diff(values[: self.knots]) > 0.0))
        closed = self.search.fly(values, self._led(values)) if rising else None
        if closed is None:
            return np.array([np.inf, *np.zeros(len(self.limits) * len(self.times))])
        self.near = closed
        used = (closed.propellant_used - self.start.propellant_used) / self.unit
        loads = self._loads(closed) if self.limits else np.zeros((0, 4))
        return np.array([used, *self._rooms(loads)])

    def _led(self, values: Floats) -> ClosedRuleFlight:
        """The flight at hand, its insertion as it follows numbers to first order."""
        away = ((values - np.array(self.near.values)) / self.sizes)[: self.count]
        moved = self.follows @ away
        unknowns = tuple(u + float(d) for u, d in zip(self.near.unknowns, moved, strict=False))
        turned = float(moved[len(unknowns)]) if len(moved) > len(unknowns) else 0.0
        return replace(self.near, unknowns=unknowns, heading=self.near.heading + turned)

    def _loads(self, closed: ClosedRuleFlight) -> Floats:
        """(n, 4) time and loads while the air matters."""
        if closed.log.until >= self.until:
            return closed.log.rows()
        self.open = OpenFlights(self.search.flight, closed, self.until)
        return self.open.loads

    def _rooms(self, log: Floats) -> Floats:
        """What is left to each limit at each instant, in hundredths of it."""
        if not self.limits:
            return np.zeros(0)
        loads = [np.interp(self.times, log[:, 0], log[:, 1 + k]) for k, _ in self.limits]
        limits = np.array([limit for _, limit in self.limits])[:, None]
        return np.asarray(100.0 * (1.0 - _WITHIN - np.array(loads) / limits)).ravel()


def _airborne(log: Floats) -> Floats:
    """(n,) s, a second apart, at which the air matters."""
    thick = log[log[:, 1] > _THICK * log[:, 1].max(), 0]
    return np.arange(thick[0], thick[-1], 1.0) if len(thick) else np.zeros(0)


def knots_flown(flight: RuleFlight, closed: ClosedRuleFlight, fixed: int) -> Knots:
    """The knots of a flight, what the insertion added to the last `fixed` pitches included."""
    knots = knots_from(flight.rule.start.against, closed.values)  # type: ignore[attr-defined]
    return knots.shifted(closed.unknowns[:fixed])

"""Downhill from one programme of knots to a better one, within the mission's limits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from ascentopt.numerics.trust_region import ElasticProblem, Patience, search_in_trust_region
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.evaluate.terminal_solve import TURN
from ascentopt.rules.laws.knot_rule import knots_from
from ascentopt.rules.tune.merit import cost_of
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against
from ascentopt.studies.simplify.knot_fit import PitchCurve
from ascentopt.studies.simplify.open_flight import Choice, OpenEnd, OpenFlights, follow
from ascentopt.typing import Floats
from ascentopt.units import deg

_NUDGE = 1e-3
"""Of a degree, and of `_STRIDE`: flights whose ends are left open step alike, so that slopes are
those at hand. Heating bends so much that over 0.1 they were wrong by a third of a limit."""

_STRIDE = 0.01  # of the whole range: a change of an abscissa that matters as a degree does
NARROWEST = 0.01
"""Of the whole range, between two knots."""

_PITCHES = -30.0 * deg, 90.0 * deg
_WITHIN = 3e-4
"""Part of a limit that is kept clear of: loads within steps are those of a cubic."""

_UNIT = 1e-5  # of the propellant: what the search counts cost in
_ROUGH, _SHARP = 3.0, 0.1  # of these: cost no longer worth a step, at first and in the end
_MENDING = 50.0
"""Of a hundredth by which a limit is exceeded, in these: ten times what limits are mostly worth, so
that a start is led within them at once."""

_PRICE, _DEARER = 0.01 * _SHARP / _WITHIN, 10.0
"""Of the same from there on: what is kept clear of is worth a last step; far above what limits are
worth steps along one that bends are in vain. And how many times dearer it gets where one is worth
more: an elastic variable leaves a limit broken unless its price is above the multiplier of the
limit (Nocedal and Wright, sec. 18.5)."""

_EDGE, _CLEAR = 10.0, 0.003
"""Hundredths of a limit that a second or a kilometre counts as where a flight's insertion comes to
the edge of what can be flown, and how many of these are kept clear."""

_FLAT = 1e-2  # curvature where nothing is known of any

_MOST_STEPS = 40  # at a price
_THICK = 0.05  # of the greatest dynamic pressure: below it no load comes near its limit


Fly = Callable[[Floats, ClosedRuleFlight | None], ClosedRuleFlight | None]


@dataclass(frozen=True, eq=False, kw_only=True)
class KnotProblem:
    """What is descended.

    Args:
        flight: with a `KnotRule`.
        curve: the optimum's pitch; knots stay within its range.
        fixed: how many of the last pitches the insertion chooses.
        heated: how many times hotter a coast gets than where an orbit around a point comes lowest.
        fly: a flight with some numbers, near another one; None where there is none.
    """

    flight: RuleFlight
    curve: PitchCurve
    fixed: int
    heated: float
    fly: Fly


class KnotDescent:
    """Cost and limits against changes of the numbers, in degrees and strides, from a start."""

    def __init__(self, problem: KnotProblem, start: ClosedRuleFlight) -> None:
        self.problem, self.start, self.near = problem, start, start
        self.values = np.array(start.values)
        knots = len(self.values) // 2
        self.stride = _STRIDE * problem.curve.span
        self.sizes = np.repeat([self.stride, 1.0 * deg], knots)
        self.count, self.knots = 2 * knots - problem.fixed, knots
        limits = problem.flight.mission.limits
        loads = limits.dynamic_pressure, limits.q_alpha
        self.limits = [(k, limit) for k, limit in enumerate(loads) if limit is not None]
        self.open = OpenFlights(problem.flight, start)
        self.edges = _airborne(self.open.closed.loads) if self.limits else np.zeros(0)
        self.limits = self.limits if len(self.edges) else []
        self.until = float(self.edges[-1]) if self.limits else 0.0
        self.passed = self.open.closed.knots
        self.unit = _UNIT * problem.flight.vehicle.propellant_mass
        self.prices = np.zeros(len(self._rooms(self.open.closed)))
        self.follows = np.zeros((len(start.unknowns) + 1, self.count))

    def descend(self) -> tuple[ClosedRuleFlight, float]:
        """Downhill within the limits: the flight, and its cost in units with what it breaks."""
        low, high = self._bounds()
        places = np.eye(self.knots, self.count)
        hill = ElasticProblem(
            measures=self.measures,
            slopes=self.slopes,
            matrix=places[1:] - places[:-1],
            offsets=np.diff(self.values[: self.knots]) / self.stride - NARROWEST / _STRIDE,
            low=low,
            high=high,
            price=_PRICE,
            curvature=self._curvature(),
        )
        beyond = self._settle(*self._mended(hill))
        cost = cost_of(self.problem.flight, self.near) / self.unit
        return self.near, cost + _PRICE * beyond

    def _mended(self, hill: ElasticProblem) -> tuple[ElasticProblem, Floats]:
        """The hill, and a place on it within the limits; the start where none was found.

        From one that breaks them still there is no way back to what costs little.
        """
        start, patience = np.zeros(self.count), Patience(steps=_MOST_STEPS, sharp=_ROUGH)
        x, _, bent = search_in_trust_region(replace(hill, price=_MENDING), start, patience)
        if self._beyond(x) > 100.0 * _WITHIN:
            return hill, start
        return replace(hill, curvature=bent), x

    def _settle(self, hill: ElasticProblem, x: Floats) -> float:
        """To the lowest place; what is broken there most, in hundredths.

        What still breaks a limit goes on at a higher price, as long as that halves what is broken.
        """
        patience, before = Patience(steps=_MOST_STEPS, sharp=_SHARP), np.inf
        while True:
            x, self.prices, bent = search_in_trust_region(hill, x, patience)
            beyond = self._beyond(x)
            if not 100.0 * _WITHIN < beyond < 0.5 * before:
                return beyond
            hill, before = replace(hill, price=_DEARER * hill.price, curvature=bent), beyond

    def _beyond(self, x: Floats) -> float:
        """By how much the limit that is broken most is, in hundredths."""
        return max(0.0, -float(self.measures(x)[1:].min(initial=0.0)))

    def _curvature(self) -> Floats:
        """(count, count) of the cost, as of speed that is lost for pointing away from the optimum.

        Thrust that points a small angle off loses half its square of the speed that it gives.
        """
        curve, knots = self.problem.curve, self.knots_at(np.zeros(self.count))
        ahead = [self.knots_at(_NUDGE * row).pitch(curve.at) for row in np.eye(self.count)]
        turned = (np.array(ahead) - knots.pitch(curve.at)).T / _NUDGE
        worth = self.open.mass_for_speed / self.unit
        speed = np.asarray(turned.T @ (curve.weight[:, None] * turned))
        return worth * speed + _FLAT * np.eye(self.count)

    def knots_at(self, x: Floats) -> Knots:
        """The programme after a change, its last pitches as they were."""
        return knots_from(self.problem.curve.against, tuple(map(float, self._moved(x))))

    def gains(self, closed: ClosedRuleFlight, wider: Sequence[Knots]) -> Floats:
        """(n,) what moving the added knot of each programme promises, in some unit of all alike.

        To first order by what its pitch is worth, limits at their prices, over how much the thrust
        of the time around it weighs.
        """
        self.near = closed
        self.open = OpenFlights(self.problem.flight, closed, self.until)
        ends, base = [], knots_flown(self.problem.flight, closed, self.problem.fixed)
        unknowns = (0.0,) * self.problem.fixed + closed.unknowns[self.problem.fixed :]
        for knots in wider:
            (place,) = set(knots.abscissae) - set(base.abscissae)
            k = knots.abscissae.index(place)
            pitches = list(knots.pitches)
            pitches[k] += _NUDGE * deg
            values = (*knots.abscissae, *pitches)
            choice = Choice(values=values, unknowns=unknowns, heading=closed.heading)
            end = self.open.changed(choice, self._since(k))
            ends.append(end._replace(knots=np.delete(end.knots, k)))
        total = self._followed(self._columns(ends, _NUDGE))
        worth = total[0] - self.prices @ total[1:]
        weights = np.array([self._weight(one, base) for one in wider])
        return np.asarray(worth**2 / weights)

    def _weight(self, knots: Knots, base: Knots) -> float:
        """Of the hat between the neighbours of the added knot, squared, along the curve."""
        (place,) = set(knots.abscissae) - set(base.abscissae)
        curve = self.problem.curve
        hat = np.interp(curve.at, knots.abscissae, [at == place for at in knots.abscissae])
        return float(curve.weight @ hat**2)

    def slopes(self, x: Floats) -> Floats:
        """(1 + limits, count) of cost and room, the insertion following so that the orbit is met.

        By flights whose ends are left open, one for each number and for each unknown.
        """
        self.measures(x)  # which closes the flight, if it is not the one at hand
        ends = [self.open.changed(*self._nudged(x, k)) for k in range(self.count)]
        return self._followed(self._columns(ends, _NUDGE))

    def _followed(self, own: Floats) -> Floats:
        """(1 + rooms, n) slopes of cost and rooms as the insertion follows numbers.

        `own` are those of the measures to be met, the cost and the rooms as it does not.
        """
        unknowns, steps = self._loosened()
        others = self._columns([self.open.changed(*one) for one in unknowns], 1.0) / steps
        met = len(self.open.closed.met)
        self.follows = follow(own[:met], others[:met])
        sizes = [*self._unknown_sizes(), TURN][:met]
        self.near = replace(self.near, slope=others[:met] * sizes)
        total = own + others @ self.follows
        return np.asarray(total[met:])

    def _columns(self, ends: list[OpenEnd], step: float) -> Floats:
        """(e + 1 + rooms, n) slopes: of the measures to be met, the cost and the rooms."""
        here = self._column(self.open.closed)
        columns = [self._column(end) - here for end in ends]
        return np.array(columns).T / step

    def _column(self, end: OpenEnd) -> Floats:
        return np.array([*end.met, end.used / self.unit, *self._rooms(end)])

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
        in_time = self.problem.curve.against is Against.TIME
        return max(before, self.open.steered) if in_time else self.open.before_altitude(before)

    def _loosened(self) -> tuple[list[tuple[Choice, float]], Floats]:
        """Choices with one unknown changed, and by how much; the heading where it is one."""
        base, flight = Choice.of(self.near), self.problem.flight
        sizes = [_NUDGE * size for size in self._unknown_sizes()]
        found = []
        for k, size in enumerate(sizes):
            moved = tuple(u + size * (j == k) for j, u in enumerate(base.unknowns))
            since = self.open.inserting
            if k < self.problem.fixed:  # a shift of one of the last pitches
                since = max(since, self._since(self.knots - 1 - k))
            found.append((replace(base, unknowns=moved), since))
        if flight.mission.orbit.inclination is not None:
            sizes.append(_NUDGE * deg)
            found.append((replace(base, heading=base.heading + sizes[-1]), self.open.steered))
        return found, np.array(sizes)

    def _unknown_sizes(self) -> tuple[float, ...]:
        flight = self.problem.flight
        return flight.insertion.sizes(flight.radius, flight.speed)

    def _bounds(self) -> tuple[Floats, Floats]:
        """(count,) least and greatest change."""
        first, last = self.problem.curve.at[[0, -1]]
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
        closed = self.problem.fly(values, self._led(values)) if rising else None
        if closed is None:
            return np.array([np.inf, *np.zeros(len(self.prices))])
        self.near = closed
        self.open = OpenFlights(self.problem.flight, closed, self.until)
        used = (closed.propellant_used - self.start.propellant_used) / self.unit
        return np.array([used, *self._rooms(self.open.closed)])

    def _led(self, values: Floats) -> ClosedRuleFlight:
        """The flight at hand, its insertion as it follows numbers to first order."""
        away = ((values - np.array(self.near.values)) / self.sizes)[: self.count]
        moved = self.follows @ away
        unknowns = tuple(u + float(d) for u, d in zip(self.near.unknowns, moved, strict=False))
        turned = float(moved[len(unknowns)]) if len(moved) > len(unknowns) else 0.0
        return replace(self.near, unknowns=unknowns, heading=self.near.heading + turned)

    def _rooms(self, end: OpenEnd) -> Floats:
        """What is left to each limit in each second, in hundredths of it, and to each edge.

        Of heating its logarithm counts, since it grows many times over within a few kilometres.
        """
        at = self._as_begun(end) if self.limits else np.zeros(0)
        shares = [self._peaks(at, end.loads[:, 1 + k]) / most for k, most in self.limits]
        rooms = [100.0 * (1.0 - _WITHIN - share) for share in shares]
        most = self.problem.flight.vehicle.max_heating
        if most is not None:
            hot = max(self.problem.heated * end.heating, 0.01 * most)
            rooms.append(np.array([100.0 * log(most / hot)]))
        return np.concatenate([*rooms, _EDGE * (end.edges - _CLEAR)])

    def _as_begun(self, end: OpenEnd) -> Floats:
        """(n,) s of the loads, as far between the knots as in the flight begun with.

        A load has a corner at a knot: by the clock it would jump from one second into the next as
        the knot is moved.
        """
        times, first, last = end.loads[:, 0], self.edges[0], self.edges[-1]
        low, high = np.minimum(end.knots, self.passed), np.maximum(end.knots, self.passed)
        within = (low > first) & (high < last)
        knots, passed = end.knots[within], self.passed[within]
        begun = np.interp(times, [0.0, first, *knots, last], [0.0, first, *passed, last])
        return np.asarray(begun)

    def _peaks(self, at: Floats, load: Floats) -> Floats:
        """(seconds,) the most of a load within each; continuous as a peak passes an edge."""
        edges = np.interp(self.edges, at, load)
        found = np.maximum(edges[:-1], edges[1:])
        seconds = np.floor(at - self.edges[0]).astype(int)
        own = (seconds >= 0) & (seconds < len(found))
        np.maximum.at(found, seconds[own], load[own])
        return found


def _airborne(log: Floats) -> Floats:
    """(n + 1,) edges of the n seconds in which the air matters."""
    thick = log[log[:, 1] > _THICK * log[:, 1].max(), 0]
    return np.arange(thick[0], thick[-1] + 1.0) if len(thick) else np.zeros(0)


def knots_flown(flight: RuleFlight, closed: ClosedRuleFlight, fixed: int) -> Knots:
    """The knots of a flight, what the insertion added to the last `fixed` pitches included."""
    knots = knots_from(flight.rule.start.against, closed.values)  # type: ignore[attr-defined]
    return knots.shifted(closed.unknowns[:fixed])

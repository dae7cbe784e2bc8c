"""What ends an arc, for N flights: seconds that are known beforehand, and values that pass zero."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ascentopt.guided.flights.fleet import Fleet, Rows
from ascentopt.guided.guidance.coast_ahead import CoastAhead
from ascentopt.guided.guidance.leg import apoapsis_radius, climb_rate, energy
from ascentopt.guided.guidance.prepared import Prepared
from ascentopt.guided.plan.parts import Parts, Side
from ascentopt.guided.plan.planned_arc import EndOf
from ascentopt.guided.steps.step import STATE
from ascentopt.rocket import SolidMotor
from ascentopt.typing import Floats

ALTITUDE, HEATING, BURNED = STATE, STATE + 5, 7
"""Places in what a step returns."""

LATEST = 1.2
"""Of a planned coast: when a stage is lit at the latest, wherever the flight is."""

_SLIVER = 1e-9  # s

Limit = Callable[[Fleet, Rows, Floats], Floats]
"""Of flights and their time in the arc (n,): seconds left (n,)."""

Value = Callable[[Rows, Floats, Floats], Floats]
"""Of flights, the result of a step (n, STATE + READ) and their time in the arc: zero at the end."""


@dataclass(frozen=True)
class Ending:
    """What ends an arc.

    Args:
        limit: seconds left, exactly; None where nothing tells.
        value: passes zero from below at the end; None where nothing does.
        orbit: the same where the burn is cut off: for the orbit aimed at, or as much as planned.
        stops: seconds left to other instants that are to be stepped on.
        met_at_once: whether a value that is not below zero where the arc begins ends it there.
    """

    limit: Limit | None = None
    value: Value | None = None
    orbit: Value | None = None
    stops: tuple[Limit, ...] = ()
    met_at_once: bool = False

    def over(self, fleet: Fleet, rows: Rows, elapsed: Floats) -> np.ndarray:
        """(n,) which are at their end already."""
        over = np.zeros(len(rows), dtype=bool)
        if self.limit is not None:
            over |= self.limit(fleet, rows, elapsed) <= _SLIVER
        if self.met_at_once and self.value is not None:
            here = np.concatenate([fleet.state[rows], fleet.reading[rows]], axis=1)
            over |= self.value(rows, here, elapsed) >= 0.0
        return over

    def lengths(
        self, fleet: Fleet, rows: Rows, elapsed: Floats, most: Floats
    ) -> tuple[Floats, np.ndarray]:
        """(n,) s of the next step, and whether it leads to the limit."""
        lengths = most.copy()
        for stop in self.stops:
            left = stop(fleet, rows, elapsed)
            lengths = np.where(left > _SLIVER, np.minimum(lengths, left), lengths)
        if self.limit is None:
            return lengths, np.zeros(len(rows), dtype=bool)
        left = self.limit(fleet, rows, elapsed)
        return np.minimum(lengths, left), left <= lengths

    @property
    def passing(self) -> Value | None:
        """What passes zero first of the two; None where neither does."""
        one, other = self.value, self.orbit
        if one is None or other is None:
            return one or other

        def either(rows: Rows, found: Floats, elapsed: Floats) -> Floats:
            return np.maximum(one(rows, found, elapsed), other(rows, found, elapsed))

        return either

    def until(self, seconds: float) -> Ending:
        """The same, but after so many seconds of the arc at the latest."""
        own = self.limit

        def limit(fleet: Fleet, rows: Rows, elapsed: Floats) -> Floats:
            left = seconds - elapsed
            return left if own is None else np.minimum(left, own(fleet, rows, elapsed))

        return replace(self, limit=limit)


@dataclass(frozen=True, eq=False)
class Endings:
    """What ends each arc of a plan, for the draws of some parts."""

    plan: Prepared
    parts: Parts
    sides: tuple[Side, ...]

    def of(self, k: int) -> Ending:
        """Of an arc."""
        planned = self.plan.arcs[k]
        made = {
            EndOf.RISE: self._rise,
            EndOf.FAIRING: self._fairing,
            EndOf.CLOCK: self._clock,
            EndOf.BOOSTERS: self._boosters,
            EndOf.EMPTY: self._empty,
            EndOf.BURNED: self._burned,
            EndOf.WAIT: self._wait,
            EndOf.RELIGHT: self._relight,
            EndOf.STATE: self._state,
        }[planned.ending](k)
        return replace(made, stops=(*made.stops, *self._side_stops(k)))

    def shed(self, k: int) -> list[int]:
        """Groups of boosters that go at the end of an arc."""
        planned = self.plan.arcs[k]
        end = planned.began + planned.length
        return [
            g
            for g, one in enumerate(self.parts.vehicle.boosters)
            if planned.arc.joint.mass_drop and abs(one.burn_out_time - end) < _SAME
        ]

    def burnable(self, stage: int) -> Floats:
        """(N,) kg that a stage may burn, its reserve left."""
        kept = self.plan.reserve if stage == self.plan.plan.inserting_stage else 0.0
        return self.parts.load(stage) - kept

    def _side_stops(self, k: int) -> tuple[Limit, ...]:
        def stop(instants: Floats) -> Limit:
            return lambda fleet, rows, elapsed: instants[rows] - fleet.time[rows]

        return tuple(stop(self.sides[g].out) for g in self.parts.arc(self.plan.arcs[k]).groups)

    def _rise(self, k: int) -> Ending:
        pad = float(self.plan.arcs[0].readings.altitude[0])
        height = pad + (self.plan.arcs[k].arc.rise or 0.0)
        return Ending(value=lambda rows, found, elapsed: found[:, ALTITUDE] - height)

    def _fairing(self, k: int) -> Ending:
        most = self.plan.vehicle.max_heating or 0.0
        return Ending(
            value=lambda rows, found, elapsed: 1.0 - found[:, HEATING] / most, met_at_once=True
        )

    def _clock(self, k: int) -> Ending:
        end = self.plan.arcs[k].began + self.plan.arcs[k].length
        return Ending(limit=lambda fleet, rows, elapsed: end - fleet.time[rows])

    def _boosters(self, k: int) -> Ending:
        gone = np.max([self.sides[g].gone for g in self.shed(k)], axis=0)
        return Ending(limit=lambda fleet, rows, elapsed: gone[rows] - fleet.time[rows])

    def _wait(self, k: int) -> Ending:
        length = self.plan.arcs[k].length
        return Ending(limit=lambda fleet, rows, elapsed: length - elapsed)

    def _empty(self, k: int) -> Ending:
        planned = self.plan.arcs[k]
        own = self.parts.arc(planned)
        engine = self.parts.vehicle.stages[planned.arc.stage].engine
        load = self.burnable(planned.arc.stage)
        if isinstance(engine, SolidMotor) and not planned.arc.kind.core_by_mass:
            starts, burn = planned.arc.kind.core_clock_starts, engine.burn_time / own.rate
            lit = planned.arc.parameters.core_ignition

            def limit(fleet: Fleet, rows: Rows, elapsed: Floats) -> Floats:
                clock = elapsed if starts else fleet.time[rows]
                return np.asarray(lit + burn[rows] - clock)

            return Ending(limit=limit)
        if planned.solid or planned.arc.kind.throttled:
            return Ending(value=lambda rows, found, elapsed: found[:, BURNED] / load[rows] - 1.0)
        flow = own.numbers[:, 1]

        def until_dry(fleet: Fleet, rows: Rows, elapsed: Floats) -> Floats:
            return np.asarray((load - fleet.state[:, BURNED])[rows] / flow[rows])

        return Ending(limit=until_dry)

    def _burned(self, k: int) -> Ending:
        goal = self._planned_burned(k)
        stops = self._empty(k)
        return replace(stops, orbit=lambda rows, found, elapsed: found[:, BURNED] / goal - 1.0)

    def _planned_burned(self, k: int) -> float:
        """Kg of its tank that the core has burned when an arc ends as planned."""
        stage, total = self.plan.arcs[k].arc.stage, 0.0
        for one in self.plan.arcs[: k + 1]:
            if one.arc.stage == stage and one.arc.burning:
                flow = one.arc.parameters.mass_flow * one.length
                total += flow if one.with_boosters else one.start[6] - one.end[6]
        return float(total)

    def _relight(self, k: int) -> Ending:
        """At the climb rate as planned, or where the burn would end at the radius asked for.

        On the way to an apoapsis the climb rate tells the place. From an apoapsis that is too high
        no short burn ends in the orbit, but before it there is a place from which one does, and
        behind it another: where the plan comes down to its burn that radius is waited for. A
        flight that leaves its periapsis is beyond that climb rate too, but not when it comes back.
        """
        planned, burn = self.plan.arcs[k], self.plan.arcs[k + 1]
        length, next_length = planned.length, self.plan.arcs[k + 1].length
        begin, end = burn.start[None], burn.end[None]
        climb = float(climb_rate(begin)[0])
        if not planned.about_apoapsis:
            return Ending(limit=lambda fleet, rows, elapsed: length - elapsed)
        goal = float(np.linalg.norm(end[0, :3]))
        gained = goal - float(np.linalg.norm(begin[0, :3])) - 0.5 * climb * next_length

        def value(rows: Rows, found: Floats, elapsed: Floats) -> Floats:
            radius = np.linalg.norm(found[:, :3], axis=1)
            rising = climb_rate(found)
            there = (radius + gained + 0.5 * rising * next_length - goal) / next_length
            passed = climb - rising
            if not burn.solid:
                pair = np.maximum if climb >= 0.0 else np.minimum
                passed = pair(passed, np.copysign(1.0, climb) * there)
            late = np.maximum(passed, elapsed / (LATEST * length) - 1.0)
            return np.asarray(late)

        return Ending(value=value)

    def _state(self, k: int) -> Ending:
        """In the orbit aimed at, by its energy; on the way to another burn by its apoapsis.

        Where the coast to that burn begins in the air, by the apoapsis beyond it. A solid motor's
        burn is long enough to mend an apoapsis that is too low, and cannot be shortened for one
        that is too high.
        """
        mu = self.plan.mission.body.gravitational_parameter
        if self.plan.arcs[k].solid:
            return self._empty(k)
        dry = self._empty(k)
        if k == len(self.plan.arcs) - 1:
            target = self.plan.target(k)
            goal = 0.5 * target.pace**2 - mu / target.radius
            return replace(
                dry, orbit=lambda rows, found, elapsed: energy(mu, found) / abs(goal) + 1.0
            )
        mends = self.plan.arcs[-1].solid
        denser = 1.0 if mends else 1.0 + self.plan.guidance.denser
        ahead = CoastAhead.of(self.plan.arcs[k + 1], denser)
        if ahead is not None:
            goal = ahead.planned
            return replace(dry, orbit=lambda rows, found, elapsed: ahead.beyond(found, goal))
        far = float(apoapsis_radius(mu, self.plan.arcs[k].end[None])[0])
        return replace(
            dry, orbit=lambda rows, found, elapsed: apoapsis_radius(mu, found) / far - 1.0
        )


_SAME = 1e-3
"""s between instants of a plan that are one."""

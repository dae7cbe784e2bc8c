"""A rule of thumb flown into the orbit: its numbers given, the insertion found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import atan2, cos, inf, pi, sqrt

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.elements import climb_and_level, elements
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.quick import Endless, Mark, OffCourse, QuickFlight
from ascentopt.flight.sequence import Sequence
from ascentopt.mission import CircularOrbit, Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion import Insertion, TooHigh, Unknowns
from ascentopt.rules.newton import solve_near
from ascentopt.rules.rule import Pad, Rule
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import ThrottleProgramme, within
from ascentopt.units import km
from ascentopt.world.table import Floats

_CLOSE = np.array([0.1, 1e-4, 1e-4])
"""m, m/s and m/s: miss of the orbit that is not worth another step."""

_UPRIGHT = 1e-7  # rad of inclination
_MOST_HEADINGS = 8
_WIDEST_TURN = 0.05  # rad of heading at once
_LEAST_SHARE = 1e-2  # of a turn: what must arrive in the inclination for a secant to be drawn
_DEBT = 0.6
"""Part of the dry mass at insertion that a flight may owe: it says by how much it falls short."""

_CREDIT = 1.0  # kg by which a flight that is flown again may miss what it owed


class NotClosed(OffCourse):
    """No insertion was found that ends in the orbit."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Closed:
    """A rule's flight that ends in the orbit.

    Attributes:
        values: of the rule's open numbers.
        law: that was flown.
        unknowns: of the insertion, in its order.
        end: where it ends.
        propellant_used: kg; more than there is for a flight on credit.
        debt: kg that are missing; zero for a real flight.
        heading: rad from north, towards which it tips over.
        slope: of the miss with the unknowns; a flight near by begins with it.
        log: (n, 4) as of `RuleFlight.loads`, from the pad to where the unknowns begin to act.
        turning: rad of heading that take a rad off the inclination; zero where it is not known.
    """

    values: tuple[float, ...]
    law: Programme
    unknowns: Unknowns
    end: Mark
    propellant_used: float
    debt: float
    heading: float
    slope: Floats
    log: Floats
    turning: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class RuleFlight:
    """A rule with a way to insert, for one vehicle on one mission to a circular orbit.

    Args:
        throttling: of engines that can be throttled; None for full thrust, or what keeps the axial
            acceleration within the mission's limit where it has one.

    Raises:
        InputError: for an orbit that is not a circle, or whose node is fixed.
    """

    vehicle: Vehicle
    mission: Mission
    rule: Rule
    insertion: Insertion
    throttling: ThrottleProgramme | None = None

    def __post_init__(self) -> None:
        orbit = self.mission.orbit
        if not isinstance(orbit, CircularOrbit) or orbit.ascending_node is not None:
            raise InputError(
                f"rules of thumb: the orbit is a {orbit}; they end in circular orbits whose node "
                "is free. Give a CircularOrbit without ascending_node."
            )

    @property
    def radius(self) -> float:
        """Of the orbit, m."""
        return float(self.mission.orbit.semi_major_axis_around(self.mission.body))  # type: ignore[arg-type]

    @property
    def speed(self) -> float:
        """In the orbit, m/s."""
        return sqrt(self.mission.body.gravitational_parameter / self.radius)

    def habit(self) -> tuple[float, ...]:
        """The numbers flown by habit."""
        return self.rule.habit(self._pad(self._first_heading()))

    def along(self, first: tuple[float, ...], last: tuple[float, ...]) -> RuleFlight:
        """The same, quicker where only the rule's last number varies; see `Rule.along`."""
        pad = self._pad(self._first_heading())
        return replace(self, rule=self.rule.along(pad, first, last))

    def at(self, values: tuple[float, ...], near: Closed | None = None) -> Closed:
        """Fly with these numbers; a flight with similar ones, if given, saves some searching.

        Raises:
            OffCourse: when they do not lead to the orbit; its kind says why.
        """
        inclination = self.mission.orbit.inclination
        heading = self._first_heading() if near is None else near.heading
        closed = self._towards(values, heading, near)
        if inclination is None:
            return closed
        return self._inclined(values, (heading, closed), inclination)

    def loads(self, closed: Closed, until: float = inf) -> Floats:
        """(n, 4) time (s) and loads, in the order of `leap.LOADS`, at every step of a flight.

        They reach at least until some time, or to the end.
        """
        if len(closed.log) and closed.log[-1, 0] >= until:
            return closed.log
        log: list[tuple[float, ...]] = []
        flight = QuickFlight(
            self._sequence(closed.law.plan),
            closed.law,
            fairing_heating=self.vehicle.max_heating,
            overdraw=closed.debt + _CREDIT,
            log=log,
        )
        flight.fly(flight.start())
        return np.array(log)

    def _inclined(
        self, values: tuple[float, ...], first: tuple[float, Closed], inclination: float
    ) -> Closed:
        """Turn the heading by the secant rule until the plane is the orbit's."""
        heading, closed = first
        miss, turning = self._inclination(closed.end) - inclination, closed.turning
        if turning == 0.0:  # north of east, inclination falls eastwards
            turning = -1.0 if cos(heading) < 0.0 else 1.0
        for _ in range(_MOST_HEADINGS):
            if abs(miss) < _UPRIGHT:
                return replace(closed, turning=turning)
            turn = float(np.clip(turning * miss, -_WIDEST_TURN, _WIDEST_TURN))
            heading += turn
            closed = self._towards(values, heading, closed)
            before, miss = miss, self._inclination(closed.end) - inclination
            if abs(before - miss) < _LEAST_SHARE * abs(turn):
                turning *= -0.5
            else:
                turning = turn / (before - miss)
        if abs(miss) < 1e3 * _UPRIGHT:
            return closed
        raise NotClosed(f"no heading leads to the inclination; it misses by {miss:.2e} rad")

    def _inclination(self, mark: Mark) -> float:
        mu = self.mission.body.gravitational_parameter
        return elements(mu, mark.state[:3], mark.state[3:6]).inclination

    def _towards(self, values: tuple[float, ...], heading: float, near: Closed | None) -> Closed:
        """With the plan whose fairing arc is the one in which the fairing can go."""
        plans = list(self._plans())
        for plan in plans[:-1]:
            try:
                return self._planned(plan, values, heading, near)
            except Endless as endless:
                if endless.arc != plan.fairing_arc:
                    raise
        return self._planned(plans[-1], values, heading, near)

    def _plans(self) -> Iterator[FlightPlan]:
        """Plans that differ in the arc in which the fairing goes, the earliest first.

        It goes under thrust above the first stage, or on the last coast; where nothing heats it,
        as soon as the vehicle steers.
        """
        bare = self.insertion.plan(self.vehicle, None)
        if self.vehicle.fairing is None:
            yield bare
            return
        arcs = self._sequence(bare).arcs
        if self.mission.body.atmosphere is None or len(self.vehicle.stages) == 1:
            able = [arc for arc in arcs if arc.rise is None][:1]
        else:
            able = [arc for arc in arcs if arc.stage > 0 and arc.burning]
        if bare.restarts:
            able = [*[arc for arc in able if arc is not arcs[-1]], arcs[-2]]
        for arc in able:
            yield self.insertion.plan(self.vehicle, arc.name)

    def _planned(
        self, plan: FlightPlan, values: tuple[float, ...], heading: float, near: Closed | None
    ) -> Closed:
        sequence = self._sequence(plan)
        pad = Pad(mission=self.mission, sequence=sequence, heading=heading)
        ending = _Ending(self, plan, sequence, self.rule.steps(values, pad))
        alike = near if near is not None and near.law.plan == plan else None
        unknowns, end, slope, log = ending.closed(alike)
        margin = sequence.left(end.mass)
        return Closed(
            values=values,
            law=ending.law(unknowns),
            unknowns=unknowns,
            end=end,
            propellant_used=self.vehicle.propellant_mass - margin - sequence.reserve,
            debt=max(-margin, 0.0),
            heading=heading,
            slope=slope,
            log=log,
            turning=0.0 if near is None else near.turning,
        )

    def _sequence(self, plan: FlightPlan) -> Sequence:
        return _sequence(self.vehicle, self.mission, plan)

    def _pad(self, heading: float) -> Pad:
        plan = self.insertion.plan(self.vehicle, None)
        sequence = self._sequence(plan)
        return Pad(mission=self.mission, sequence=sequence, heading=heading)

    def _first_heading(self) -> float:
        """Rad from north: the orbit's at the site, less what the spin of the body adds to it."""
        inclination = self.mission.orbit.inclination
        if inclination is None:
            return 0.5 * pi
        latitude = self.mission.site.latitude
        across = float(np.clip(cos(inclination) / max(cos(latitude), 1e-9), -1.0, 1.0))
        north = self.speed * sqrt(1.0 - across**2)
        body = self.mission.body
        east = self.speed * across - body.rotation_rate * body.radius * cos(latitude)
        return atan2(east, north)


@lru_cache(maxsize=64)
def _sequence(vehicle: Vehicle, mission: Mission, plan: FlightPlan) -> Sequence:
    """The same sequence for the same arguments: it is asked for once a flight."""
    return sequence_of(vehicle, mission, plan)


@dataclass(frozen=True, eq=False)
class _Try:
    """A flight with some unknowns: its end, its miss, and what of them cannot be flown."""

    unknowns: Unknowns
    end: Mark
    miss: Floats
    over: Floats


@dataclass(frozen=True, eq=False)
class _Ending:
    """Finds the unknowns of the insertion."""

    rule: RuleFlight
    plan: FlightPlan
    sequence: Sequence
    steps: tuple[Phase, ...]

    def closed(self, near: Closed | None) -> tuple[Unknowns, Mark, Floats, Floats]:
        """Unknowns with which the flight ends in the orbit, sought from `near`; end, slope and log.

        Raises:
            OffCourse: where there are none.
        """
        insertion, rule = self.rule.insertion, self.rule
        rough = self._flight((rule.radius, 0.0, 0.0))
        log: list[tuple[float, ...]] = []
        rough.log = log
        mark = rough.fly(rough.start(), insertion.begins(self.sequence) - 1)
        rough.log = None
        start = near.unknowns if near is not None else insertion.guess(rough, mark, rule.radius)
        slope = None if near is None else near.slope
        return (*self._solved(rough, mark, start, slope), np.array(log))

    def _solved(
        self, rough: QuickFlight, mark: Mark, start: Unknowns, slope: Floats | None
    ) -> tuple[Unknowns, Mark, Floats]:
        sizes = np.array(self.rule.insertion.sizes(self.rule.radius, self.rule.speed))
        flown: dict[bytes, _Try] = {}

        def at(scaled: Floats) -> _Try:
            key = scaled.tobytes()
            if key not in flown:
                unknowns = tuple(float(v) for v in start + sizes * scaled)
                flown[key] = self._tried(rough, mark, unknowns)
            return flown[key]

        root = solve_near(lambda scaled: at(scaled).miss + at(scaled).over, 3, _CLOSE, slope)
        found = at(root.x)
        if np.any(found.over):
            raise TooHigh("there is no time to coast: the burn would have to begin before cut-off")
        if not np.all(np.abs(found.miss) < _CLOSE):
            height, climb, speed = found.miss
            raise NotClosed(
                f"its insertion ({self.rule.insertion.name}) ends {height / km:+.1f} km from "
                f"the orbit, {climb:+.0f} m/s in climb and {speed:+.0f} m/s in speed"
            )
        return found.unknowns, found.end, root.slope

    def _tried(self, rough: QuickFlight, mark: Mark, unknowns: Unknowns) -> _Try:
        flight = rough.steered_by(self.law(unknowns))
        marks = self._marks(flight, mark)
        over = self.rule.insertion.overrun(flight, marks, unknowns)
        return _Try(unknowns, marks[-1], self._miss(marks[-1]), over)

    def _marks(self, flight: QuickFlight, mark: Mark) -> tuple[Mark, ...]:
        """Ends of the arcs on which the unknowns act."""
        marks = [mark]
        while len(marks[-1].begun) < len(self.sequence.arcs):
            marks.append(flight.arc(marks[-1]))
        return tuple(marks[1:])

    def _miss(self, mark: Mark) -> Floats:
        """(3,) m of radius, m/s of climb and of level speed beyond the orbit's."""
        radius = float(np.linalg.norm(mark.state[:3]))
        climb, level = climb_and_level(mark.state[:3], mark.state[3:6])
        found: Floats = np.array([radius - self.rule.radius, climb, level - self.rule.speed])
        return found

    def law(self, unknowns: Unknowns) -> Programme:
        """Steering with these."""
        law = self.rule.insertion.law(self.plan, self.sequence, self.steps, unknowns)
        throttling = self.rule.throttling or within(self.rule.mission.limits)
        return law if throttling is None else replace(law, throttling=throttling)

    def _flight(self, unknowns: Unknowns) -> QuickFlight:
        return QuickFlight(
            self.sequence,
            self.law(unknowns),
            fairing_heating=self.rule.vehicle.max_heating,
            overdraw=_DEBT * self.sequence.arcs[-1].least_mass,
        )

"""The search for the insertion, and for the heading, with which a rule's flight ends in the orbit.

Where the inclination is given the heading is one of the unknowns and the plane's miss one of the
equations. What comes before the insertion is flown once for every heading.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import sqrt

import numpy as np

from ascentopt.flight.elements import climb_and_level, elements
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.quick import Mark, OffCourse, QuickFlight
from ascentopt.flight.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion import Insertion, TooHigh, Unknowns
from ascentopt.rules.newton import NUDGE, Root, solve_near
from ascentopt.rules.rule import Pad, Rule
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.units import km
from ascentopt.world.table import Floats

_CLOSE = np.array([0.1, 1e-4, 1e-4, 1e-7])
"""m, m/s, m/s and rad: miss of the orbit that is not worth another step, where all is exact."""

_IN_PLANE = 1e-4
"""rad: the plane of an orbit due east of its site, as low in inclination as any, can be met no
better, since no heading leads below it."""

_TURN = 0.005  # rad: a change of heading that matters about as the insertion's sizes do
_SAME = 0.3  # of the inclination's tolerance: a turn too small to be flown again for
_ROUGHLY = 1e3  # times `_CLOSE`: what the insertion may miss where the heading is to change anyway
_DEBT = 0.6
"""Part of the dry mass at insertion that a flight may owe: it says by how much it falls short."""


class NotClosed(OffCourse):
    """No insertion was found that ends in the orbit."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Start:
    """Where to begin: heading in rad, the insertion's unknowns and the slope if they are known."""

    heading: float
    unknowns: Unknowns | None = None
    slope: Floats | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Found:
    """A flight into the orbit; see `flown.Closed`."""

    law: Programme
    unknowns: Unknowns
    end: Mark
    heading: float
    slope: Floats
    log: Floats


@dataclass(frozen=True, eq=False)
class _Begun:
    """A flight as far as the insertion."""

    flight: QuickFlight
    steps: tuple[Phase, ...]
    mark: Mark
    log: Floats


@dataclass(frozen=True, eq=False)
class _Try:
    """A flight with some unknowns: its end, its miss, and what of them cannot be flown."""

    unknowns: Unknowns
    heading: float
    end: Mark
    miss: Floats
    over: Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Closing:
    """A rule with its numbers, and the insertion whose unknowns are sought.

    `slack` is how many times 0.1 m, 0.1 mm/s and 1e-7 rad of inclination the orbit may be missed.
    """

    vehicle: Vehicle
    mission: Mission
    rule: Rule
    insertion: Insertion
    throttling: ThrottleProgramme | None
    plan: FlightPlan
    sequence: Sequence
    values: tuple[float, ...]
    slack: float = 1.0

    def found(self, start: Start) -> Found:
        """The flight that ends in the orbit.

        Raises:
            OffCourse: where there is none.
        """
        search = _Search(self, start)
        root = search.root()
        found = search.at(root.x)
        begun = search.begun(found.heading)
        self._check(found)
        return Found(
            law=self.law(begun.steps, found.unknowns),
            unknowns=found.unknowns,
            end=found.end,
            heading=found.heading,
            slope=root.slope,
            log=begun.log,
        )

    def _check(self, found: _Try) -> None:
        """Raises `OffCourse` for what does not end in the orbit."""
        if np.any(found.over):
            raise TooHigh("there is no time to coast: the burn would have to begin before cut-off")
        height, climb, speed, tilt = found.miss
        if not np.all(np.abs(found.miss[:3]) < self.close[:3]):
            raise NotClosed(
                f"its insertion ({self.insertion.name}) ends {height / km:+.1f} km from "
                f"the orbit, {climb:+.0f} m/s in climb and {speed:+.0f} m/s in speed"
            )
        if not abs(tilt) < _IN_PLANE:
            raise NotClosed(f"no heading leads to the inclination; it misses by {tilt:.2e} rad")

    @cached_property
    def close(self) -> Floats:
        """(4,) m, m/s, m/s and rad by which the orbit may be missed."""
        return self.slack * _CLOSE

    @cached_property
    def radius(self) -> float:
        """Of the orbit, m."""
        return float(self.mission.orbit.semi_major_axis_around(self.mission.body))  # type: ignore[arg-type]

    @cached_property
    def speed(self) -> float:
        """In the orbit, m/s."""
        return sqrt(self._mu / self.radius)

    @property
    def _mu(self) -> float:
        return self.mission.body.gravitational_parameter

    @property
    def inclination(self) -> float | None:
        """Of the orbit, rad, if it is given."""
        inclination: float | None = self.mission.orbit.inclination
        return inclination

    def steps(self, heading: float) -> tuple[Phase, ...]:
        """The rule's, towards a heading."""
        pad = Pad(mission=self.mission, sequence=self.sequence, heading=heading)
        return self.rule.steps(self.values, pad)

    def law(self, steps: tuple[Phase, ...], unknowns: Unknowns) -> Programme:
        """Steering with these."""
        law = self.insertion.law(self.plan, self.sequence, steps, unknowns)
        return law if self.throttling is None else replace(law, throttling=self.throttling)

    def flight(self, law: Programme) -> QuickFlight:
        """Under a law."""
        return QuickFlight(
            self.sequence,
            law,
            fairing_heating=self.vehicle.max_heating,
            overdraw=_DEBT * self.sequence.arcs[-1].least_mass,
        )

    def miss(self, mark: Mark) -> Floats:
        """(4,) m of radius, m/s of climb and of level speed, rad of inclination, too much."""
        position, velocity = mark.state[:3], mark.state[3:6]
        radius = float(np.linalg.norm(position))
        climb, level = climb_and_level(position, velocity)
        tilt = 0.0
        if self.inclination is not None:
            tilt = elements(self._mu, position, velocity).inclination - self.inclination
        found: Floats = np.array([radius - self.radius, climb, level - self.speed, tilt])
        return found


class _Search:
    """Flies, and remembers what was flown."""

    def __init__(self, closing: Closing, start: Start) -> None:
        self._closing, self._slope = closing, start.slope
        self._begun: dict[float, _Begun] = {}
        self._tries: dict[bytes, _Try] = {}
        self._first: QuickFlight | None = None
        self._sizes = (*closing.insertion.sizes(closing.radius, closing.speed), _TURN)
        unknowns = start.unknowns
        if unknowns is None:
            begun = self.begun(start.heading)
            unknowns = closing.insertion.guess(begun.flight, begun.mark, closing.radius)
        self._origin = (*unknowns, start.heading)

    def root(self) -> Root:
        """Unknowns, scaled, and then the heading where it matters, that lead into the orbit."""
        if self._closing.inclination is None:
            return self._solved(np.zeros(3), self._slope)
        x, slope = np.zeros(4), self._slope
        if slope is None:
            # Far from the orbit the plane tells nothing: the insertion first, at this heading.
            level = self._solved(x, None, free=3, close=_ROUGHLY * _CLOSE)
            x = level.x
            slope = self._with_heading(x, level.slope)
        root = self._solved(x, slope)
        missed = np.abs(self._miss(root.x))
        if np.all(missed < self._closing.close) or missed[3] > _IN_PLANE:
            return root
        # Perhaps no heading leads into the plane: as near as it came, the rest is closed.
        level = self._solved(root.x, root.slope[:3, :3], free=3)
        return Root(x=level.x, slope=root.slope)

    def _solved(
        self, x: Floats, slope: Floats | None, free: int | None = None, close: Floats | None = None
    ) -> Root:
        """From `x` on, all unknowns free or the first few."""
        count = len(x) if free is None else free

        def miss(step: Floats) -> Floats:
            return self._miss(np.append(x[:count] + step, x[count:]))[:count]

        close = self._closing.close if close is None else close
        root = solve_near(miss, count, close[:count], slope)
        return Root(x=np.append(x[:count] + root.x, x[count:]), slope=root.slope)

    def _with_heading(self, x: Floats, slope: Floats) -> Floats:
        """(4, 4) slope, of which the part without the heading is known."""
        whole = np.zeros((4, 4))
        whole[:3, :3] = slope
        nudge = np.array([0.0, 0.0, 0.0, NUDGE])
        whole[:, 3] = (self._miss(x + nudge) - self._miss(x)) / NUDGE
        return whole

    def _miss(self, x: Floats) -> Floats:
        found = self.at(x)
        missed: Floats = found.miss + np.append(found.over, 0.0)
        return missed

    def at(self, x: Floats) -> _Try:
        """The flight with these unknowns."""
        key = x.tobytes()
        if key not in self._tries:
            moved = zip(self._origin, self._sizes, x.tolist(), strict=False)
            unknowns = [origin + size * step for origin, size, step in moved]
            heading = self._nearly(unknowns[3]) if len(unknowns) > 3 else self._origin[3]
            self._tries[key] = self._tried(tuple(unknowns[:3]), heading)
        return self._tries[key]

    def _tried(self, unknowns: Unknowns, heading: float) -> _Try:
        begun, closing = self.begun(heading), self._closing
        flight = begun.flight.steered_by(closing.law(begun.steps, unknowns))
        marks = _marks(flight, begun.mark)
        over = closing.insertion.overrun(flight, marks, unknowns)
        return _Try(unknowns, heading, marks[-1], closing.miss(marks[-1]), over)

    def _nearly(self, heading: float) -> float:
        """The heading, or one towards which as good as the same was flown."""
        same = min(_SAME * float(self._closing.close[3]), 0.2 * NUDGE * _TURN)
        return next((h for h in self._begun if abs(h - heading) < same), heading)

    def begun(self, heading: float) -> _Begun:
        """As far as the insertion, towards a heading."""
        if heading not in self._begun:
            self._begun[heading] = self._begin(heading)
        return self._begun[heading]

    def _begin(self, heading: float) -> _Begun:
        closing = self._closing
        steps = closing.steps(heading)
        law = closing.law(steps, (closing.radius, 0.0, 0.0))
        if self._first is None:
            self._first = closing.flight(law)
        flight = self._first.steered_by(law)
        log: list[tuple[float, ...]] = []
        flight.log = log
        mark = flight.fly(flight.start(), closing.insertion.begins(closing.sequence) - 1)
        flight.log = None
        return _Begun(flight, steps, mark, np.array(log))


def _marks(flight: QuickFlight, mark: Mark) -> tuple[Mark, ...]:
    """Ends of the arcs on which the unknowns act."""
    marks = [mark]
    while len(marks[-1].begun) < len(flight.sequence.arcs):
        marks.append(flight.arc(marks[-1]))
    return tuple(marks[1:])

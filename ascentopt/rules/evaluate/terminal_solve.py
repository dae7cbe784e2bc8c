"""The search for the insertion, and for the heading, with which a rule's flight ends in the orbit.

Where the inclination is given the heading is one of the unknowns and the plane's miss one of the
equations. What comes before the insertion is flown once for every heading.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.compiled.load_log import LoadLog
from ascentopt.numerics.broyden import NUDGE, Root, solve_near
from ascentopt.rules.evaluate.terminal_conditions import TOLERANCES, InsertionProblem
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin, miss_beyond_edges
from ascentopt.rules.insertion.insertion import Insertion, Unknowns
from ascentopt.steering.programme import Phase, Programme, flown_alike
from ascentopt.typing import Floats
from ascentopt.units import km

_IN_PLANE = 1e-4
"""rad: the plane of an orbit due east of its site, as low in inclination as any, can be met no
better, since no heading leads below it."""

TURN = 0.02
"""rad. A change of heading that matters about as the insertion's sizes do."""
_SAME = 0.3  # of the inclination's tolerance: a turn too small to be flown again for
_FAR = 1e3  # times that: an insertion that still misses by so much is none
_ROUGHLY = 1e3
"""Times `TOLERANCES`: what the insertion may miss where the heading is to change anyway."""


class InsertionNotSolved(CompiledFlightError):
    """No insertion was found that ends in the orbit."""


@dataclass(frozen=True, eq=False, kw_only=True)
class InsertionStart:
    """Where to begin: heading in rad, the insertion's unknowns and the slope if they are known."""

    heading: float
    unknowns: Unknowns | None = None
    slope: Floats | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class ClosedInsertion:
    """A flight into the orbit, or one that would end there; see `rule_flight.ClosedRuleFlight`."""

    law: Programme
    unknowns: Unknowns
    end: Checkpoint
    heading: float
    slope: Floats
    log: LoadLog
    marks: tuple[Checkpoint, ...]
    margins: tuple[FeasibilityMargin, ...]


@dataclass(frozen=True, eq=False)
class _FlightToInsertion:
    """A flight as far as the insertion; marks and log are those of arcs."""

    flight: CompiledFlight
    steps: tuple[Phase, ...]
    marks: tuple[Checkpoint, ...]
    log: LoadLog

    @property
    def mark(self) -> Checkpoint:
        """Where the unknowns begin to act."""
        return self.marks[-1]


@dataclass(frozen=True, eq=False)
class _Trial:
    """A flight with some unknowns: its arcs, its miss, and what of them can be flown."""

    law: Programme
    unknowns: Unknowns
    heading: float
    marks: tuple[Checkpoint, ...]
    log: LoadLog
    miss: Floats
    margins: tuple[FeasibilityMargin, ...]


def solve_insertion(aim: InsertionProblem, start: InsertionStart) -> ClosedInsertion:
    """The flight that ends in the orbit, or would if its unknowns could be flown.

    Raises:
        CompiledFlightError: where there is none.
    """
    search = _InsertionSearch(aim, start)
    root = search.root()
    found = search.at(root.x)
    _check(aim, found)
    return ClosedInsertion(
        law=found.law,
        unknowns=found.unknowns,
        end=found.marks[-1],
        heading=found.heading,
        slope=root.slope,
        log=found.log,
        marks=found.marks,
        margins=found.margins,
    )


def _check(aim: InsertionProblem, found: _Trial) -> None:
    """Raises `InsertionNotSolved` for what does not end in the orbit."""
    height, climb, speed, tilt = found.miss
    missed = found.miss[:3] + miss_beyond_edges(found.margins)
    if not np.all(np.abs(missed) < aim.tolerances[:3]):
        raise InsertionNotSolved(
            f"no flight into the orbit was found by {aim.insertion.name}: the nearest ends "
            f"{abs(height) / km:.1f} km too {'high' if height > 0.0 else 'low'}, "
            f"{'climbing' if climb > 0.0 else 'sinking'} at {abs(climb):.0f} m/s and "
            f"{abs(speed):.0f} m/s too {'fast' if speed > 0.0 else 'slow'}"
        )
    if not abs(tilt) < _IN_PLANE:
        raise InsertionNotSolved(
            f"no heading leads to the inclination; it misses by {tilt:.2e} rad"
        )


class _InsertionSearch:
    """Flies, and remembers what was flown."""

    def __init__(self, aim: InsertionProblem, start: InsertionStart) -> None:
        self._aim, self._slope = aim, start.slope
        self._begun: dict[float, _FlightToInsertion] = {}
        self._tries: dict[bytes, _Trial] = {}
        self._last: dict[float, _Trial] = {}  # by heading
        self._first: CompiledFlight | None = None
        self._sizes = (*aim.insertion.sizes(aim.radius, aim.speed), TURN)
        unknowns = start.unknowns
        if unknowns is None:
            begun = self.begun(start.heading)
            guess = aim.insertion.guess(begun.flight, begun.mark, aim.arrival)
            unknowns = _three(aim.insertion, guess)
        self._origin = (*unknowns, start.heading)

    def root(self) -> Root:
        """Unknowns, scaled, and then the heading where it matters, that lead into the orbit."""
        if self._aim.inclination is None:
            return self._solved(np.zeros(3), self._slope)
        x, slope = np.zeros(4), self._slope
        if slope is None:
            # Far from the orbit the plane tells nothing: the insertion first, at this heading.
            level = self._solved(x, None, free=3, close=_ROUGHLY * TOLERANCES)
            x = level.x
            if not np.all(np.abs(self._miss(x)[:3]) < _FAR * _ROUGHLY * TOLERANCES[:3]):
                return Root(x=x, slope=level.slope)  # no heading mends that
            slope = self._with_heading(x, level.slope)
        root = self._solved(x, slope)
        missed = np.abs(self._miss(root.x))
        if np.all(missed < self._aim.tolerances) or missed[3] > _IN_PLANE:
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

        close = self._aim.tolerances if close is None else close
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
        missed: Floats = found.miss + np.append(miss_beyond_edges(found.margins), 0.0)
        return missed

    def at(self, x: Floats) -> _Trial:
        """The flight with these unknowns."""
        key = x.tobytes()
        if key not in self._tries:
            moved = zip(self._origin, self._sizes, x.tolist(), strict=False)
            unknowns = [origin + size * step for origin, size, step in moved]
            heading = self._nearly(unknowns[3]) if len(unknowns) > 3 else self._origin[3]
            self._tries[key] = self._tried(tuple(unknowns[:3]), heading)
        return self._tries[key]

    def _tried(self, unknowns: Unknowns, heading: float) -> _Trial:
        begun, aim = self.begun(heading), self._aim
        law, arcs = aim.law(begun.steps, unknowns), aim.sequence.arcs
        flight = begun.flight.steered_by(law)
        known, log = self._alike(law, heading)
        flight.log = log
        marks = (*known[:-1], *flight.fly_arcs(known[-1], len(arcs)))
        rooms = aim.insertion.rooms(flight, marks[len(begun.marks) - 1 :], unknowns)
        found = _Trial(law, unknowns, heading, marks, log, aim.miss(marks[-1]), rooms)
        self._last[heading] = found
        return found

    def _alike(self, law: Programme, heading: float) -> tuple[tuple[Checkpoint, ...], LoadLog]:
        """Marks as far as the last flight towards a heading flew as a law says, and their log."""
        begun, last = self.begun(heading), self._last.get(heading)
        if last is None:
            return begun.marks, begun.log.until(begun.mark.time)
        count, arcs = len(begun.marks), self._aim.sequence.arcs
        while count <= len(arcs) and flown_alike(law, last.law, arcs[count - 1]):
            count += 1
        return last.marks[:count], last.log.until(last.marks[count - 1].time)

    def _nearly(self, heading: float) -> float:
        """The heading, or one towards which as good as the same was flown."""
        same = min(_SAME * float(self._aim.tolerances[3]), 0.2 * NUDGE * TURN)
        return next((h for h in self._begun if abs(h - heading) < same), heading)

    def begun(self, heading: float) -> _FlightToInsertion:
        """As far as the insertion, towards a heading."""
        if heading not in self._begun:
            self._begun[heading] = self._begin(heading)
        return self._begun[heading]

    def _begin(self, heading: float) -> _FlightToInsertion:
        aim = self._aim
        steps = aim.steps(heading)
        law = aim.law(steps, (aim.radius, 0.0, 0.0))
        if self._first is None:
            self._first = aim.flight(law)
        flight = self._first.steered_by(law)
        log = flight.log = LoadLog()
        marks = flight.fly_arcs(flight.start(), aim.insertion.begins(aim.sequence))
        flight.log = None
        return _FlightToInsertion(flight, steps, marks, log)


def _three(insertion: Insertion, guess: Unknowns) -> Unknowns:
    """The guess. Raises `InputError` for one of a user's insertion that is none."""
    if len(guess) == 3 and all(isfinite(one) for one in guess):
        return guess
    raise InputError(
        f"insertion {insertion.name!r}: guess returned {guess!r}; it must be three finite numbers, "
        "one for each unknown of law. Return a tuple of three."
    )

"""Steps of integration along an arc, whole ones, each a single call; tables looked up between."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from math import inf

from ascentopt.flight.compiled.computed_step import Asked, ComputedStep
from ascentopt.flight.compiled.load_log import Readings
from ascentopt.flight.compiled.step_function import (
    CLOCKS,
    LOADS,
    STATE,
    StepFunction,
    step_function,
)
from ascentopt.flight.compiled.table_pieces import Cubic, TablePieces, time_to_reach
from ascentopt.flight.guidance.direction import BentFormula, Formula
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats

_GIVEN = CLOCKS + STATE
_LOADS = len(LOADS)
_WILL_NOT_COME = 4.0  # times as far as an argument comes at its present rate

Clock = tuple[float, float, float]


def _compiled(kind: ArcKind, formula: Formula | None) -> StepFunction:
    if isinstance(formula, BentFormula):
        return step_function(kind, formula.pieces[0].key, formula.key)
    return step_function(kind, None if formula is None else formula.key)


class Stepper:
    """Steps along an arc, as long as one formula holds; not to be shared by threads.

    Args:
        kind, numbers: of the arc.
        formula: that steers it; None where nothing does.
        ask: who says the direction, where the formula's is computed by a function.

    Attributes:
        error: of the last step, in units of what is tolerated.
        altitude: m above the ellipsoid, where it ended.
    """

    def __init__(
        self, kind: ArcKind, numbers: Sequence[float], formula: Formula | None, ask: Asked | None
    ) -> None:
        compiled = _compiled(kind, formula)
        self._scout = BufferedFunction(compiled.scout)
        self._step = BufferedFunction(compiled.step) if ask is None else ComputedStep(compiled, ask)
        self._lookups = [copy(table) for table in compiled.tables]
        self._tables = self._lookups
        self._step.given[1][:] = numbers
        self._scout.given[1][:] = numbers
        self._given, self._rows = self._step.given[0], self._step.given[3]
        self._count = _LOADS + len(self._lookups) + isinstance(formula, BentFormula)
        self._read = [0.0] * (4 * self._count)
        self._length = 0.0
        self._strictness = 1.0 if formula is None else formula.strictness
        self.set_formula(formula, ask)
        self.error, self.altitude = 0.0, 0.0

    def set_formula(self, formula: Formula | None, ask: Asked | None = None) -> None:
        """Take the numbers of another formula of the same form, and who says its direction."""
        if isinstance(self._step, ComputedStep) and ask is not None:
            self._step.ask = ask
        if isinstance(formula, BentFormula):
            rows = [piece.numbers for piece in formula.pieces]
            self._tables = [*self._lookups, TablePieces.of_corners(formula.corners, rows)]
        elif formula is not None:
            self._step.given[2][:] = formula.numbers
            self._scout.given[2][:] = formula.numbers

    def begin(self, clock: Clock, state: Floats) -> None:
        """Look up the tables at the place where steps are to begin."""
        self._length = 0.0
        if self._tables:
            given = self._scout.given[0]
            given[:CLOCKS] = clock
            given[CLOCKS:] = state
            self._scout.evaluate()
            for table, at in zip(self._tables, self._scout.found.tolist(), strict=True):
                table.select(at, 0.0)
            self._look_up()

    def accept(self) -> None:
        """Look them up where the last step ended: the next one begins there."""
        moved = False
        for k, table in enumerate(self._tables, 2 * self._count + _LOADS):
            moved |= table.select(self._read[k], self._read[k + self._count])
        if moved:
            self._look_up()

    def _look_up(self) -> None:
        place = 0
        for table in self._lookups:
            row = table.row
            self._rows[place : place + len(row)] = row
            place += len(row)
        for bent in self._tables[len(self._lookups) :]:
            self._step.given[2][:] = bent.row

    def __call__(self, clock: Clock, state: Floats, length: float) -> Floats:
        """(7,) state after `length` s; the clock holds time, elapsed and phase_time."""
        given = self._given
        given[:CLOCKS] = clock
        given[CLOCKS:_GIVEN] = state
        given[_GIVEN] = length
        self._step.evaluate()
        error, self.altitude, *self._read = self._step.found[STATE:].tolist()
        self.error = error * self._strictness
        self._length = length
        return self._step.found[:STATE].copy()

    # Of the last step.

    @property
    def loads(self) -> list[float]:
        """(3,) where it ended, in the order of `LOADS`."""
        place = 2 * self._count
        return self._read[place : place + _LOADS]

    def peaks(self) -> list[float]:
        """(3,) greatest loads on it."""
        read, count = self._read, self._count
        return [
            self._cubic(k).greatest()
            if read[k + count] > 0.0 > read[k + 3 * count]
            else max(read[k], read[k + 2 * count])
            for k in range(_LOADS)
        ]

    @property
    def readings(self) -> Readings:
        """What it tells of its two ends; the next step leaves that alone."""
        return Readings(self._read, self._length, _LOADS)

    def to_knot(self, most: float) -> float:
        """Seconds from its end to the next knot of a table, as it lets expect.

        Infinite where that is unknown, or plainly more than `most`.
        """
        found = inf
        if self._length:
            values, slopes = 2 * self._count + _LOADS, 3 * self._count + _LOADS
            for k, table in enumerate(self._tables):
                slope = self._read[slopes + k]
                knot = table.next_knot(slope)
                if abs(knot - self._read[values + k]) > _WILL_NOT_COME * most * abs(slope):
                    continue
                found = min(found, time_to_reach(self._cubic(_LOADS + k).from_end(), knot))
        return found

    def passed_knot(self) -> float | None:
        """Seconds into it at which a piece of a table ceased to hold; None if all of them held.

        Zero stands for a knot at which it began: the piece on the other side has been taken now.
        """
        found, read, count = inf, self._read, self._count
        for k, table in enumerate(self._tables, _LOADS):
            turns = read[k + count] * read[k + 3 * count] < 0.0
            if not turns and table.holds(read[k + 2 * count]):
                continue
            cubic = self._cubic(k)
            knot = table.knot_passed(cubic.extreme())
            if knot is None:
                continue
            if table.select_beyond(cubic.begin, knot):
                self._look_up()
                return 0.0
            time = time_to_reach(cubic.from_begin(), knot)
            found = min(found, time if time < self._length else 0.5 * self._length)
        return found if found < inf else None

    def _cubic(self, k: int) -> Cubic:
        read, count = self._read, self._count
        return Cubic(
            read[k], read[k + count], read[k + 2 * count], read[k + 3 * count], self._length
        )

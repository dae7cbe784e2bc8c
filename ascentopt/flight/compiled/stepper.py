"""Steps of integration along an arc, whole ones, each a single call; tables looked up between."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from math import inf

from ascentopt.flight.compiled.computed_step import Asked, CompiledStep, ComputedStep
from ascentopt.flight.compiled.foresight import FORETOLD, LOADS
from ascentopt.flight.compiled.load_log import Readings
from ascentopt.flight.compiled.step_function import (
    CLOCKS,
    PLAIN,
    STATE,
    StepFunction,
    step_function,
)
from ascentopt.flight.compiled.table_pieces import HELD, TablePieces, time_to_reach
from ascentopt.flight.guidance.direction import BentFormula, Formula
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats

_GIVEN = CLOCKS + STATE
_LOADS = len(LOADS)
_ERROR, _PASSED, _MOVED, _USUAL, _KNOT = range(5)  # places in what a step tells
_PEAKS = slice(_KNOT + 1, _KNOT + 1 + _LOADS)
_THERE = 1 + FORETOLD  # where the reading begins
_ALTITUDE, _VALUES = _THERE + STATE, _THERE + PLAIN

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
        slack: how many times the usual error is tolerated.
    """

    def __init__(
        self,
        kind: ArcKind,
        numbers: Sequence[float],
        formula: Formula | None,
        ask: Asked | None,
        slack: float,
    ) -> None:
        compiled = _compiled(kind, formula)
        self._scout = BufferedFunction(compiled.scout)
        self._step = CompiledStep(compiled) if ask is None else ComputedStep(compiled, ask)
        self._lookups = [copy(table) for table in compiled.tables]
        self._tables, self._bent = self._lookups, isinstance(formula, BentFormula)
        self._given, own, self._numbers, self._rows, *rest = self._step.given
        own[:] = self._scout.given[1][:] = numbers
        self._begun, self._held, self._pace = rest
        self._start, self._end = self._given[CLOCKS:_GIVEN], self._step.found[:STATE]
        self._there = self._step.found[STATE + _THERE :]
        self._count = (len(self._begun) - PLAIN) // 2
        self._told: list[float] = []
        self._before: list[float] = []
        self._leniency = slack if formula is None else slack / formula.strictness
        self._pace[1] = self._leniency
        self.set_formula(formula, ask)

    def set_formula(self, formula: Formula | None, ask: Asked | None = None) -> None:
        """Take the numbers of another formula of the same form, and who says its direction."""
        if isinstance(self._step, ComputedStep) and ask is not None:
            self._step.ask = ask
        if isinstance(formula, BentFormula):
            rows = [piece.numbers for piece in formula.pieces]
            self._tables = [*self._lookups, TablePieces.of_corners(formula.corners, rows)]
        elif formula is not None:
            self._numbers[:] = formula.numbers
            self._scout.given[2][:] = formula.numbers

    def begin(self, clock: Clock, state: Floats) -> None:
        """Take the place where steps are to begin, and look up the tables there."""
        self._given[:CLOCKS] = clock
        self._start[:] = state
        if self._tables:
            self._scout.given[0][:] = self._given[:_GIVEN]
            self._scout.evaluate()
            for table, at in zip(self._tables, self._scout.found.tolist(), strict=True):
                table.select(at, 0.0)
            self._look_up()
        self.read()

    def read(self) -> None:
        """Read the place where steps begin."""
        self._begun[:] = self._step.read()
        self._before = self._begun.tolist()

    def go_on(self, clock: Clock) -> None:
        """The next step begins where the last one ended."""
        self._given[0], self._given[1], self._given[2] = clock
        self._start[:] = self._end
        self._begun[:] = self._there
        self._before = self._told[_THERE:]
        if self._told[_MOVED]:
            for k, table in enumerate(self._tables, _VALUES + _LOADS):
                table.select(self._told[k], self._told[k + self._count])
            self._look_up()
            if self._bent:
                self.read()

    def _look_up(self) -> None:
        place = 0
        for table in self._lookups:
            row = table.row
            self._rows[place : place + len(row)] = row
            place += len(row)
        for bent in self._tables[len(self._lookups) :]:
            self._numbers[:] = bent.row
        for k, table in enumerate(self._tables):
            self._held[HELD * k : HELD * (k + 1)] = table.held

    def make(self, length: float, usual: float) -> float:
        """Make a step of some s, where steps are so long; its error by what is tolerated."""
        self._given[_GIVEN], self._pace[0] = length, usual
        self._step.make()
        self._told = told = self._step.found[STATE:].tolist()
        return float(told[_ERROR]) / self._leniency

    # Of the last step.

    @property
    def end(self) -> Floats:
        """(7,) state."""
        return self._end.copy()

    @property
    def start(self) -> Floats:
        """(7,) state where it began."""
        return self._start.copy()

    @property
    def start_rates(self) -> Floats:
        """(7,) of the state, where it began."""
        return self._begun[:STATE].copy()

    @property
    def end_rates(self) -> Floats:
        """(7,) of the state, where it ended."""
        return self._there[:STATE].copy()

    @property
    def altitude(self) -> float:
        """M above the ellipsoid, where it ended."""
        return self._told[_ALTITUDE]

    @property
    def usual(self) -> float:
        """S that the next one may be long, by the error alone."""
        return self._told[_USUAL]

    @property
    def knot(self) -> float:
        """S from its end to the next knot of a table; infinite where that is unknown or far."""
        return self._told[_KNOT]

    @property
    def length(self) -> float:
        """S."""
        return float(self._given[_GIVEN])

    @property
    def loads(self) -> list[float]:
        """(3,) where it ended, in the order of `LOADS`."""
        return self._told[_VALUES : _VALUES + _LOADS]

    @property
    def peaks(self) -> list[float]:
        """(3,) greatest loads on it."""
        return self._told[_PEAKS]

    @property
    def readings(self) -> Readings:
        """What it tells of its two ends; the next step leaves that alone."""
        return Readings(self._before, self._told, (PLAIN, _VALUES), self.length, _LOADS)

    def passed_knot(self) -> float | None:
        """Seconds into it at which a piece of a table ceased to hold; None if all of them held.

        Zero stands for a knot at which it began: the piece on the other side has been taken now.
        """
        if not self._told[_PASSED]:
            return None
        found, readings = inf, self.readings
        for k, table in enumerate(self._tables, _LOADS):
            cubic = readings.cubic(k)
            knot = table.knot_passed(cubic.extreme())
            if knot is None:
                continue
            if table.select_beyond(cubic.begin, knot):
                self._look_up()
                self.read()
                return 0.0
            time = time_to_reach(cubic.from_begin(), knot)
            found = min(found, time if time < readings.length else 0.5 * readings.length)
        return found if found < inf else None

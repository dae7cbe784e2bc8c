"""One row of a map: a rule's flights with one number given and the other varied."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.tune.merit import load_ratio
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Row:
    """What a row of a map holds.

    Attributes:
        used: (columns,) kg of propellant; NaN where there is no orbit.
        excess: (columns,) greatest ratio of a load to its limit, less one; NaN likewise.
        reasons: (columns,) why there is no orbit; empty where there is one.
    """

    used: Floats
    excess: Floats
    reasons: tuple[str, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class MapRows:
    """Flies one row of a map; may be sent to another process."""

    flight: RuleFlight
    across: tuple[float, ...]

    def __call__(self, first: float) -> Row:
        """The row with this value of the rule's first number."""
        return _Walk(self.flight.along((first,), self.across), first, self.across).row()


class _Walk:
    """Flies cell after cell, each started from its neighbours, forwards and then backwards.

    Flights on credit lead over gaps between flights that reach the orbit. Where they owe more and
    more they lead nowhere, and take ten times as long as others: the vehicle stands on its thrust
    in the air. The second of them in a row ends the walk that way.
    """

    def __init__(self, flight: RuleFlight, first: float, across: tuple[float, ...]) -> None:
        self.flight, self.first, self.across = flight, first, across
        self.closed: list[ClosedRuleFlight | None] = [None] * len(across)
        self.why = [""] * len(across)

    def row(self) -> Row:
        """All cells; what is flown on credit does not reach the orbit."""
        self._forwards()
        self._backwards()
        return self._found()

    def _forwards(self) -> None:
        for column in range(len(self.across)):
            self._fly(column, self._before(column, -1))
            if self.closed[column] is None and column and self.closed[column - 1] is not None:
                self._fly(column, None)
            if self._sinks(column, -1):
                self._leave(column)
                return

    def _backwards(self) -> None:
        for column in reversed(range(len(self.across) - 1)):
            if self.closed[column] is not None or self.closed[column + 1] is None:
                continue
            if not self._sinks(column + 1, 1):
                self._fly(column, self._before(column, 1))

    def _sinks(self, column: int, way: int) -> bool:
        """Whether the flight there owes more than the one before it, which owes something, too."""
        debts = self._debt(column), self._debt(column + way)
        return debts[0] > debts[1] > 0.0

    def _debt(self, column: int) -> float:
        closed = self.closed[column] if 0 <= column < len(self.across) else None
        return 0.0 if closed is None else closed.debt

    def _leave(self, last: int) -> None:
        where = self.flight.rule.open[-1].valued(self.across[last])
        why = f"not flown: at {where} {self.why[last]} already, and ever more beyond"
        for column in range(last + 1, len(self.across)):
            self.why[column] = why

    def _found(self) -> Row:
        count = len(self.across)
        used, excess = np.full(count, np.nan), np.full(count, np.nan)
        for column, closed in enumerate(self.closed):
            if closed is not None and closed.debt == 0.0:
                used[column] = closed.propellant_used
                excess[column] = load_ratio(self.flight, closed) - 1.0
        return Row(used=used, excess=excess, reasons=tuple(self.why))

    def _fly(self, column: int, near: ClosedRuleFlight | None) -> None:
        try:
            closed = self.flight.fly((self.first, self.across[column]), near)
        except CompiledFlightError as failure:
            self.why[column] = str(failure)
            return
        self.closed[column] = closed
        missing = f"{closed.debt:.0f} kg of propellant are missing"
        self.why[column] = missing if closed.debt > 0.0 else ""

    def _before(self, column: int, way: int) -> ClosedRuleFlight | None:
        """The flight one column that way, its unknowns led on straight from the one beyond it."""
        one, two = column + way, column + 2 * way
        last = self.closed[one] if 0 <= one < len(self.across) else None
        beyond = self.closed[two] if 0 <= two < len(self.across) else None
        if last is None or beyond is None or beyond.law.plan != last.law.plan:
            return last
        pairs = zip(beyond.unknowns, last.unknowns, strict=True)
        return replace(last, unknowns=tuple(2.0 * b - a for a, b in pairs))

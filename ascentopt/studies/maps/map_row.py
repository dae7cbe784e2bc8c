"""One row of a map: a rule's flights with one number given and the other varied."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.flight.compiled.failures import CompiledFlightError, FellToGround
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.tune.merit import load_ratio
from ascentopt.rules.tune.tuning import SLACK
from ascentopt.typing import Floats

_THROUGH = 4
"""Flights by which the insertion of the next one is foretold."""


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
    """Flies one row of a map, as roughly as tuning does; may be sent to another process."""

    flight: RuleFlight
    across: tuple[float, ...]

    def __call__(self, first: float) -> Row:
        """The row with this value of the rule's first number."""
        rough = replace(self.flight, slack=SLACK)
        return _Walk(rough.along((first,), self.across), first, self.across).row()


class _Walk:
    """Flies cell after cell, each started from its neighbours, forwards and then backwards.

    Flights on credit lead over gaps between flights that reach the orbit. Where they owe more and
    more they lead nowhere, and take ten times as long as others: the vehicle stands on its thrust
    in the air. The second of them in a row ends the walk that way. So does, beyond flights into the
    orbit, the second that falls to the ground: what follows is flatter, as the number tips over.
    """

    def __init__(self, flight: RuleFlight, first: float, across: tuple[float, ...]) -> None:
        self.flight, self.first, self.across = flight, first, across
        self.closed: list[ClosedRuleFlight | None] = [None] * len(across)
        self.flown: list[list[ClosedRuleFlight]] = [[] for _ in across]  # by whatever plan
        self.why = [""] * len(across)
        self.falls = [False] * len(across)

    def row(self) -> Row:
        """All cells; what is flown on credit does not reach the orbit."""
        self._forwards()
        self._backwards()
        return self._found()

    def _forwards(self) -> None:
        for column in range(len(self.across)):
            self._fly(column, self._led(column, -1))
            if self.closed[column] is None and column and self.closed[column - 1] is not None:
                self._fly(column, ())
            if self._sinks(column, -1):
                self._leave(column, "and ever more beyond")
                return
            if column and all(self.falls[column - 1 : column + 1]) and any(self.flown[:column]):
                self._leave(column, "and what is flatter does so as well")
                return

    def _backwards(self) -> None:
        for column in reversed(range(len(self.across) - 1)):
            if self.closed[column] is not None or self.closed[column + 1] is None:
                continue
            if not self._sinks(column + 1, 1):
                self._fly(column, self._led(column, 1))

    def _sinks(self, column: int, way: int) -> bool:
        """Whether the flight there owes more than the one before it, which owes something, too."""
        debts = self._debt(column), self._debt(column + way)
        return debts[0] > debts[1] > 0.0

    def _debt(self, column: int) -> float:
        closed = self.closed[column] if 0 <= column < len(self.across) else None
        return 0.0 if closed is None else closed.debt

    def _leave(self, last: int, beyond: str) -> None:
        where = self.flight.rule.open[-1].valued(self.across[last])
        why = f"not flown: at {where} {self.why[last]} already, {beyond}"
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

    def _fly(self, column: int, near: tuple[ClosedRuleFlight, ...]) -> None:
        try:
            choice = self.flight.choose((self.first, self.across[column]), near)
            self.flown[column] = [*choice.flown, *choice.beyond_edges]
            closed = choice.best()
        except CompiledFlightError as failure:
            self.why[column] = str(failure)
            self.falls[column] = isinstance(failure, FellToGround)
            return
        self.closed[column] = closed
        missing = f"{closed.debt:.0f} kg of propellant are missing"
        self.why[column] = missing if closed.debt > 0.0 else ""

    def _led(self, column: int, way: int) -> tuple[ClosedRuleFlight, ...]:
        """Flights one column that way, the one that counts first, each led on to this column."""
        beside = column + way
        if not 0 <= beside < len(self.across):
            return ()
        counts = self.closed[beside]
        first = [] if counts is None else [counts]
        others = [one for one in self.flown[beside] if one is not counts]
        return tuple(self._led_on(one, column, way) for one in (*first, *others))

    def _led_on(self, last: ClosedRuleFlight, column: int, way: int) -> ClosedRuleFlight:
        """Its unknowns as at this column, by the polynomial through those of its like."""
        alike, places = [last], [column + way]
        while len(alike) < _THROUGH and 0 <= places[-1] + way < len(self.across):
            found = [one for one in self.flown[places[-1] + way] if one.law.plan == last.law.plan]
            if not found:
                break
            alike.append(found[0])
            places.append(places[-1] + way)
        x = np.array([self.across[place] for place in places])
        ends = np.array([[*one.unknowns, one.heading] for one in alike])
        *unknowns, heading = _weights(x, self.across[column]) @ ends
        return replace(last, unknowns=tuple(map(float, unknowns)), heading=float(heading))


def _weights(x: Floats, at: float) -> Floats:
    """(n,) of values at places, for the value of the polynomial through them somewhere."""
    others = [np.delete(x, k) for k in range(len(x))]
    return np.array([np.prod((at - y) / (own - y)) for own, y in zip(x, others, strict=True)])

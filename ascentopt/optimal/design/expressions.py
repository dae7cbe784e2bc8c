"""What conditions say where a vehicle's numbers are free: hashable, as programs are kept by them.

Their slopes are parameters of the problem, so that another vehicle needs no other program.
"""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca

from ascentopt.collocation import Ends
from ascentopt.flight.dynamics.state import MASS
from ascentopt.optimal.problem.linkage import EndExpression
from ascentopt.typing import Expr


@dataclass(frozen=True)
class Slopes:
    """(rows, n) slopes times the variables: places of both among the problem's numbers."""

    rows: int
    variables: slice
    parameters: slice

    def __call__(self, ends: Ends) -> Expr:
        """(rows,) what the variables add."""
        count = self.variables.stop - self.variables.start
        given = ends.parameter[self.parameters]
        return ca.mtimes(ca.reshape(given, self.rows, count), ends.free[self.variables])

    def __hash__(self) -> int:
        return hash((self.rows, *self._places))

    @property
    def _places(self) -> tuple[int, int, int, int]:
        one, other = self.variables, self.parameters
        return one.start, one.stop, other.start, other.stop


@dataclass(frozen=True)
class Less:
    """An expression less what the variables add to its bounds."""

    expression: EndExpression
    slopes: Slopes

    def __call__(self, ends: Ends) -> Expr:
        """In the expression's unit."""
        return self.expression(ends) - self.slopes(ends)


@dataclass(frozen=True)
class More:
    """An expression and what the variables add to it."""

    expression: EndExpression
    slopes: Slopes

    def __call__(self, ends: Ends) -> Expr:
        """In the expression's unit."""
        return self.expression(ends) + self.slopes(ends)


@dataclass(frozen=True)
class Burned:
    """What a burn at full throttle takes between two instants; its flow is a parameter."""

    first: int
    last: int
    flow: int
    added: Slopes

    def __call__(self, ends: Ends) -> Expr:
        """In kg."""
        flow = ends.parameter[self.flow] + self.added(ends)
        return flow * (ends.time[self.last] - ends.time[self.first])


@dataclass(frozen=True)
class MassAtEnd:
    """Mass at the end of an arc."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """In kg."""
        return ends.end[self.arc][MASS]


@dataclass(frozen=True)
class WeightAtLiftOff:
    """Less than nothing, times the gravity at the pad: what its thrust has to exceed."""

    gravity: int

    def __call__(self, ends: Ends) -> Expr:
        """In N."""
        return -ends.parameter[self.gravity] * ends.start[0][MASS]

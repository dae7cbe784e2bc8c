"""Numbers that the conditions of a design's problem read, as parameters of the problem."""

from __future__ import annotations

from ascentopt.optimal.design.expressions import Less, More, Slopes
from ascentopt.optimal.design.family import Frame
from ascentopt.optimal.design.linear_numbers import Linear
from ascentopt.optimal.problem.linkage import EndExpression
from ascentopt.typing import Floats


class Ledger:
    """Takes numbers down, and says where each stands.

    Args:
        frame: after whose problem's own free numbers and parameters they stand.
    """

    def __init__(self, frame: Frame) -> None:
        base = frame.problem
        self._first = len(base.parameters)
        self.variables = slice(len(base.free), len(base.free) + len(frame.design.variables))
        self.names: list[str] = []
        self.values: list[float] = []

    def number(self, name: str, value: float) -> int:
        """The place of a new one."""
        self.names.append(name)
        self.values.append(float(value))
        return self._first + len(self.names) - 1

    def slopes(self, what: str, slopes: Floats) -> Slopes:
        """(rows, n) of what the variables add."""
        first = self._first + len(self.names)
        for value in slopes.ravel(order="F"):
            self.number(f"slope of {what}", value)
        return Slopes(len(slopes), self.variables, slice(first, self._first + len(self.names)))

    def less(self, what: str, expression: EndExpression, bound: Linear) -> Less:
        """An expression whose bound varies, less what that grows by."""
        return Less(expression, self.slopes(what, bound.slopes))

    def more(self, what: str, expression: EndExpression, added: Linear) -> More:
        """An expression and what is added to it."""
        return More(expression, self.slopes(what, added.slopes))


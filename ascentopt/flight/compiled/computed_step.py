"""A step of integration whose direction of thrust is computed by a function, stage by stage.

It stands where the compiled step does: the same method, tables, errors and readings, but a call for
each stage, which asks the function between.
"""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import numpy as np

from ascentopt.flight.compiled.step_function import (
    ABSOLUTE,
    CLOCKS,
    RELATIVE,
    STATE,
    StepFunction,
    method,
)
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats

Asked = Callable[[Floats, Floats], tuple[float, float, float]]
"""From clocks (3) and state (7) to a unit inertial vector (3)."""

_SOON = 1e-4  # s, over which it is seen how fast the direction turns


class ComputedStep:
    """Fill `given`, evaluate, read `found`; not to be shared by threads.

    Attributes:
        given: as of `StepFunction.step`; the first three of the formula's numbers are not heeded.
        found: likewise.
        ask: who says the direction.
    """

    def __init__(self, compiled: StepFunction, ask: Asked) -> None:
        self.ask = ask
        self._rates, self._read = (BufferedFunction(f) for f in (compiled.rates, compiled.read))
        place = np.zeros(CLOCKS + STATE + 1)
        self.given = (place, *self._rates.given[1:])
        self.found: Floats = np.zeros(compiled.step.numel_out(0))
        dop = method()
        self._nodes, self._rows = dop.C[1:], dop.A[1:]
        self._weights, self._fifth, self._third = dop.B, dop.E5[: len(dop.B)], dop.E3[: len(dop.B)]

    def evaluate(self) -> None:
        """Make the step."""
        clocks, start = self.given[0][:CLOCKS], self.given[0][CLOCKS:-1]
        length = float(self.given[0][-1])
        begin = self._reading(clocks, start)
        stages = np.zeros((len(self._weights), STATE))
        stages[0] = begin[:STATE]
        for k, (node, row) in enumerate(zip(self._nodes, self._rows, strict=False), 1):
            state = start + length * (row[:k] @ stages[:k])
            stages[k] = self._rate(clocks + node * length, state)
        end = start + length * (self._weights @ stages)
        there = self._reading(clocks + length, end)
        told = (self._error(start, end, length, stages), there[STATE])
        self.found[:] = np.concatenate((end, told, begin[STATE + 1 :], there[STATE + 1 :]))

    def _rate(self, clocks: Floats, state: Floats) -> Floats:
        """(7,) rates of the state."""
        given = self._rates.given
        given[0][:CLOCKS], given[0][CLOCKS:] = clocks, state
        given[2][:3] = self.ask(clocks, state)
        self._rates.evaluate()
        return self._rates.found.copy()

    def _reading(self, clocks: Floats, state: Floats) -> Floats:
        """What is read of one end of the step, its rates first."""
        rate = self._rate(clocks, state)
        given = self._read.given
        for own, other in zip(given, self._rates.given, strict=False):
            own[:] = other
        soon = np.array(self.ask(clocks + _SOON, state + _SOON * rate))
        given[4][:3] = (soon - given[2][:3]) / _SOON
        self._read.evaluate()
        return self._read.found.copy()

    def _error(self, start: Floats, end: Floats, length: float, stages: Floats) -> float:
        """In units of the tolerance."""
        scale = np.array(ABSOLUTE) + RELATIVE * np.maximum(np.abs(start), np.abs(end))
        fifth, third = (
            float(np.sum((weights @ stages / scale) ** 2)) for weights in (self._fifth, self._third)
        )
        divisor = sqrt(max((fifth + 0.01 * third) * STATE, 1e-300))
        return abs(length) * fifth / divisor

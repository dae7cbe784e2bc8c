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
    PLAIN,
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


class CompiledStep:
    """Fill `given`, make the step, read `found`; not to be shared by threads.

    Attributes:
        given: as of `StepFunction.step`.
        found: likewise.
    """

    def __init__(self, compiled: StepFunction) -> None:
        self._step, self._read = (BufferedFunction(f) for f in (compiled.step, compiled.read))
        self.given, self.found, self.make = self._step.given, self._step.found, self._step.evaluate

    def read(self) -> Floats:
        """The reading where the step is to begin; it is overwritten by the next one."""
        place, *others = self.given
        self._read.given[0][:] = place[:-1]
        for own, other in zip(self._read.given[1:], others, strict=False):
            own[:] = other
        self._read.evaluate()
        return self._read.found


class ComputedStep:
    """The same, its direction computed; the first three of the formula's numbers are not heeded.

    Attributes:
        given, found: as of `CompiledStep`.
        ask: who says the direction.
    """

    def __init__(self, compiled: StepFunction, ask: Asked) -> None:
        self.ask = ask
        self._rates, self._aside, self._foresight = (
            BufferedFunction(f) for f in (compiled.rates, compiled.aside, compiled.foresight)
        )
        sizes = (compiled.step.numel_in(k) for k in range(4, compiled.step.n_in()))
        place = np.zeros(CLOCKS + STATE + 1)
        self.given = (place, *self._rates.given[1:], *(np.zeros(size) for size in sizes))
        self.found: Floats = np.zeros(compiled.step.numel_out(0))
        dop = method()
        self._nodes, self._rows = dop.C[1:], dop.A[1:]
        self._weights, self._fifth, self._third = dop.B, dop.E5[: len(dop.B)], dop.E3[: len(dop.B)]

    def make(self) -> None:
        """Make the step."""
        clocks, start = self.given[0][:CLOCKS], self.given[0][CLOCKS:-1]
        length, begin = float(self.given[0][-1]), self.given[4]
        stages = np.zeros((len(self._weights), STATE))
        stages[0] = begin[:STATE]
        for k, (node, row) in enumerate(zip(self._nodes, self._rows, strict=False), 1):
            state = start + length * (row[:k] @ stages[:k])
            stages[k] = self._rate(clocks + node * length, state)
        end = start + length * (self._weights @ stages)
        there = self._reading(clocks + length, end)
        error = self._error(start, end, length, stages)
        ahead = self._foretold((error, length), begin, there)
        self.found[:] = np.concatenate((end, (error,), ahead, there))

    def read(self) -> Floats:
        """The reading where the step is to begin."""
        return self._reading(self.given[0][:CLOCKS], self.given[0][CLOCKS:-1])

    def _foretold(self, made: tuple[float, float], begin: Floats, there: Floats) -> Floats:
        own, told, *rest = self._foresight.given
        own[:], told[:] = made, np.concatenate((begin[PLAIN:], there[PLAIN:]))
        for given, other in zip(rest, self.given[5:], strict=True):
            given[:] = other
        self._foresight.evaluate()
        return self._foresight.found

    def _rate(self, clocks: Floats, state: Floats) -> Floats:
        """(7,) rates of the state."""
        given = self._rates.given
        given[0][:CLOCKS], given[0][CLOCKS:] = clocks, state
        given[2][:3] = self.ask(clocks, state)
        self._rates.evaluate()
        return self._rates.found.copy()

    def _reading(self, clocks: Floats, state: Floats) -> Floats:
        rate = self._rate(clocks, state)
        given = self._aside.given
        for own, other in zip(given, self._rates.given, strict=False):
            own[:] = other
        soon = np.array(self.ask(clocks + _SOON, state + _SOON * rate))
        given[4][:3] = (soon - given[2][:3]) / _SOON
        self._aside.evaluate()
        return self._aside.found.copy()

    def _error(self, start: Floats, end: Floats, length: float, stages: Floats) -> float:
        """In units of the tolerance."""
        scale = np.array(ABSOLUTE) + RELATIVE * np.maximum(np.abs(start), np.abs(end))
        fifth, third = (
            float(np.sum((weights @ stages / scale) ** 2)) for weights in (self._fifth, self._third)
        )
        divisor = sqrt(max((fifth + 0.01 * third) * STATE, 1e-300))
        return abs(length) * fifth / divisor

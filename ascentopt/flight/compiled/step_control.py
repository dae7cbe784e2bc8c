"""How long the steps of a compiled flight are: as the error allows, and no farther than a knot."""

from __future__ import annotations

from math import inf

from ascentopt.flight.compiled.stepper import Clock, Stepper
from ascentopt.typing import Floats

_LONGEST = 400.0  # s; an event must not come and go within a step
_LONGEST_IN_AIR = 8.0
"""s. Loads within a step are read off cubics; over 8 s they miss by less than 1e-4 of a peak."""

_LOADS_MATTER = 300.0  # Pa of dynamic pressure, above which loads matter
_FIRST = 1.0  # s
_SHORTEST = 1e-6  # s; the law commands something that is not smooth
_MOST_LANDINGS = 8  # tries to land on a knot; mostly the first one does


class StepTooShort(RuntimeError):
    """No step is small enough."""


class StepController:
    """Steps from an instant on, along one arc and one formula.

    Args:
        stepper: makes the steps.
        clock, state: where they begin.
        first: s, the longest that the first one may be.
        slack: how many times the usual error is tolerated.
    """

    def __init__(
        self,
        stepper: Stepper,
        clock: Clock,
        state: Floats,
        first: float = _FIRST,
        slack: float = 1.0,
    ) -> None:
        self.stepper, self.step, self._slack = stepper, min(first, _FIRST), slack
        self._knot = inf
        stepper.begin(clock, state)

    def next_step(self, clock: Clock, state: Floats, most: float) -> tuple[float, Floats]:
        """Length in s of the next step, `most` at the most, and the state (7) after it.

        Raises:
            StepTooShort: when no step is small enough.
        """
        length = self._proposed(min(most, max(self._knot, _SHORTEST)))
        for _ in range(_MOST_LANDINGS):
            length, end = self._small_enough(clock, state, length)
            passed = self.stepper.passed_knot()
            if passed is None:
                break
            length = max(passed, _SHORTEST) if passed > 0.0 else length
        return length, end

    def accept(self) -> None:
        """The last step is taken: the next one begins at its end."""
        self.stepper.accept()
        self._knot = self.stepper.to_knot(self.step)

    def _proposed(self, end: float) -> float:
        """What is left to the end in one step or, where one is not enough, in two equal ones."""
        step = min(
            self.step, _LONGEST_IN_AIR if self.stepper.loads[0] > _LOADS_MATTER else _LONGEST
        )
        return end if end <= step else min(step, 0.5 * end)

    def _small_enough(self, clock: Clock, state: Floats, length: float) -> tuple[float, Floats]:
        while True:
            end, error = self.stepper(clock, state, length), self.stepper.error / self._slack
            if error <= 1.0:
                grown = length * min(5.0, 0.9 * max(error, 1e-8) ** -0.125)
                self.step = max(self.step, grown) if length < self.step else grown
                return length, end
            length *= max(0.2, 0.9 * error**-0.125) if error < inf else 0.2
            self.step = length
            if length < _SHORTEST:
                raise StepTooShort

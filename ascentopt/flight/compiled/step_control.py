"""How long the steps of a compiled flight are: as the error allows, and no farther than a knot."""

from __future__ import annotations

from math import inf

from ascentopt.flight.compiled.foresight import CAUTION, ROOT, SHRINKAGE
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
    """

    def __init__(self, stepper: Stepper, clock: Clock, state: Floats) -> None:
        self.stepper, self._usual = stepper, _FIRST
        self._knot, self._longest = inf, _LONGEST
        stepper.begin(clock, state)

    def make(self, most: float) -> float:
        """Make the next step; its length in s, `most` at the most.

        Raises:
            StepTooShort: when no step is small enough.
        """
        length = self._proposed(min(most, max(self._knot, _SHORTEST)))
        for _ in range(_MOST_LANDINGS):
            length = self._small_enough(length)
            passed = self.stepper.passed_knot()
            if passed is None:
                break
            length = max(passed, _SHORTEST) if passed > 0.0 else length
        return length

    def go_on(self, clock: Clock) -> None:
        """The last step is taken: the next one begins at its end."""
        stepper = self.stepper
        self._knot = stepper.knot
        self._longest = _LONGEST_IN_AIR if stepper.loads[0] > _LOADS_MATTER else _LONGEST
        stepper.go_on(clock)

    def _proposed(self, end: float) -> float:
        """What is left to the end in one step or, where one is not enough, in two equal ones."""
        step = min(self._usual, self._longest)
        return end if end <= step else min(step, 0.5 * end)

    def _small_enough(self, length: float) -> float:
        while True:
            error = self.stepper.make(length, self._usual)
            if error <= 1.0:
                self._usual = self.stepper.usual
                return length
            length *= max(SHRINKAGE, CAUTION * error**ROOT) if error < inf else SHRINKAGE
            self._usual = length
            if length < _SHORTEST:
                raise StepTooShort

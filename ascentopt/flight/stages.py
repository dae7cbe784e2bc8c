"""The stages of a step of DOP853."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

import numpy as np

from ascentopt.flight.dop853 import ALL_STAGES, STAGES, A, B, C
from ascentopt.world.table import Floats

Rates = Callable[[float, Floats], Floats]


class Stages(ABC):
    """Rates of change along a step, to be written one by one or all at once."""

    @abstractmethod
    def rates(self, time: float, state: Floats) -> Floats:
        """(n,) rates at an instant; an array that is the caller's."""

    def step(self, time: float, state: Floats, length: float) -> tuple[Floats, Floats]:
        """(12, n) rates at the stages of a step, and (n,) the state at its end."""
        found = np.empty((STAGES, len(state)))
        found[0] = self.rates(time, state)
        for k in range(1, STAGES):
            there = state + length * (A[k, :k] @ found[:k])
            found[k] = self.rates(time + C[k] * length, there)
        return found, state + length * (B @ found)

    def extended(self, time: float, state: Floats, length: float, found: Floats) -> Floats:
        """(16, n) rates of a step and those that its continuous extension needs besides."""
        every = np.empty((ALL_STAGES, len(state)))
        every[:STAGES] = found
        for k in range(STAGES, ALL_STAGES):
            there = state + length * (A[k, :k] @ every[:k])
            every[k] = self.rates(time + C[k] * length, there)
        return every


class Called(Stages):
    """Stages of any function of time and state."""

    def __init__(self, rates: Rates) -> None:
        self._rates = rates

    def rates(self, time: float, state: Floats) -> Floats:
        """What the function says."""
        return self._rates(time, state)

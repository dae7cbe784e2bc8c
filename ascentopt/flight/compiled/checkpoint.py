"""Instants of a compiled flight."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.dynamics.state import MASS
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Checkpoint:
    """An instant of a compiled flight, before the arc that begins then.

    Attributes:
        time: s since lift-off.
        state: (7,) position, velocity and mass.
        begun: when each arc so far began, s.
        phase, phase_start: of the law; None before the law was first asked.
        peaks: (3,) greatest loads so far, in the order of `stepper.LOADS`.
        mass_before: kg aboard before the last joint.
    """

    time: float
    state: Floats
    begun: tuple[float, ...] = ()
    phase: int = 0
    phase_start: float | None = None
    peaks: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mass_before: float = 0.0

    @property
    def mass(self) -> float:
        """Kilograms aboard."""
        return float(self.state[MASS])

    def advanced(self, time: float, state: Floats, peaks: tuple[float, float, float]) -> Checkpoint:
        """Moved on within its arc."""
        return Checkpoint(
            time=time,
            state=state,
            begun=self.begun,
            phase=self.phase,
            phase_start=self.phase_start,
            peaks=peaks,
        )

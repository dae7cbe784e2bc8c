"""Many flights of one plan, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.outcomes import Outcomes
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle


class Planned(Protocol):
    """What is to be flown: an ascent, or whatever tells as much."""

    @property
    def flown_vehicle(self) -> Vehicle:
        """Stages that stay unlit taken for payload."""

    @property
    def mission(self) -> Mission:
        """The mission."""

    @property
    def plan(self) -> FlightPlan:
        """Burns and coasts."""

    @property
    def trajectory(self) -> Trajectory:
        """As it is to be flown where nothing differs."""


@dataclass(frozen=True)
class DispersedFlight:
    """A plan made ready to be flown with deviations; made once by `of`, then flown often.

    Attributes:
        parts: names of the stages from below, then of the groups of boosters.
        arcs: names of the arcs of the plan.
    """

    parts: tuple[str, ...]
    arcs: tuple[str, ...]

    @classmethod
    def of(cls, planned: Planned) -> DispersedFlight:
        """Prepare a plan; takes some tenths of a second.

        Raises:
            InputError: for a plan that cannot be flown so, saying why.
        """
        raise NotImplementedError

    @property
    def nominal(self) -> Deviations:
        """One flight as described."""
        raise NotImplementedError

    def fly(self, deviations: Deviations, *, track: bool = False) -> Outcomes:
        """Fly all draws, each as if it were alone.

        The cost is some ten ms a draw, less a draw for hundreds at once. Nothing is random.

        Args:
            deviations: of N draws.
            track: whether to keep the flights at every step.

        Raises:
            InputError: for deviations of another number of parts, and what leaves a stage without
                propellant.
        """
        raise NotImplementedError

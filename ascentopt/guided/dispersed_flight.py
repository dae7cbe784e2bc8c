"""Many flights of one plan, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ascentopt.errors import InputError
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.flights.flying import Flying
from ascentopt.guided.flights.handover import made_ready
from ascentopt.guided.flights.told import outcomes_of
from ascentopt.guided.guidance.prepared import Guidance, Prepared
from ascentopt.guided.outcomes import Outcomes
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering


class Planned(Protocol):
    """What is to be flown: an ascent, or whatever tells as much."""

    @property
    def vehicle(self) -> Vehicle:
        """As described."""

    @property
    def mission(self) -> Mission:
        """The mission."""

    @property
    def plan(self) -> FlightPlan:
        """Burns and coasts."""

    @property
    def steering(self) -> TabulatedSteering:
        """The table."""

    @property
    def trajectory(self) -> Trajectory:
        """As it is to be flown where nothing differs."""


@dataclass(frozen=True)
class DispersedFlight:
    """A plan made ready to be flown with deviations; made once by `of`, then flown often.

    Attributes:
        parts: names of the stages from below, then of the groups of boosters.
        arcs: names of the arcs of the plan.
        prepared: what all draws have in common.
    """

    parts: tuple[str, ...]
    arcs: tuple[str, ...]
    prepared: Prepared

    @classmethod
    def of(cls, planned: Planned, guidance: Guidance | None = None) -> DispersedFlight:
        """Prepare a plan; takes some tenths of a second.

        Args:
            planned: an `Ascent`, or what tells as much.
            guidance: when and how guidance steers; None for what `Guidance` says.

        Raises:
            InputError: for a plan that cannot be flown so, saying why.
        """
        prepared = Prepared.of(
            planned.vehicle,
            planned.mission,
            planned.plan,
            planned.trajectory,
            planned.steering,
            guidance or Guidance(),
        )
        prepared = made_ready(prepared)
        stages = [one.name for one in planned.vehicle.stages]
        groups = [one.name for one in planned.vehicle.boosters]
        return cls((*stages, *groups), prepared.sequence.names, prepared)

    @property
    def nominal(self) -> Deviations:
        """One flight as described."""
        vehicle = self.prepared.vehicle
        return Deviations.none(1, stages=len(vehicle.stages), groups=len(vehicle.boosters))

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
        got, stages = deviations.thrust.shape[1], deviations.ignition_delay.shape[1]
        if got != len(self.parts) or stages != len(self.prepared.vehicle.stages):
            raise InputError(
                f"DispersedFlight: deviations are of {got} parts, {stages} of them stages; the "
                f"vehicle has {len(self.parts)}, {len(self.prepared.vehicle.stages)} of them "
                f"stages: {', '.join(self.parts)}. Give a column for each."
            )
        flying = Flying(self.prepared, deviations, track=track)
        flying.fly()
        return outcomes_of(flying)

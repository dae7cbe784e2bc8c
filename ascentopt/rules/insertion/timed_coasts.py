"""An insertion with coasts of given lengths before stages are lit."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import Arrival, Insertion, Unknowns
from ascentopt.steering.programme import Phase, Programme


@dataclass(frozen=True, kw_only=True)
class Coasting(Insertion):
    """Another insertion, before whose stages the vehicle coasts.

    Args:
        after: how it enters the orbit.
        stages: indices of the stages that coast before they are lit.
        coasts: pairs of a coast's name and its length in s.
    """

    after: Insertion
    stages: tuple[int, ...]
    coasts: tuple[tuple[str, float], ...]

    @property
    def name(self) -> str:
        """That of the other."""
        return self.after.name

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """What the other lacks."""
        return self.after.lacks(vehicle, mission)

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """The other's, with coasts."""
        return replace(self.after.plan(vehicle, fairing_arc), coast_before=self.stages)

    def begins(self, sequence: Sequence) -> int:
        """As the other."""
        return self.after.begins(sequence)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """The other's; coasts end by the clock."""
        law = self.after.law(plan, sequence, steps, unknowns)
        ends = tuple((name, AfterDuration(seconds)) for name, seconds in self.coasts)
        return replace(law, endings=(*law.endings, *ends))

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The other's."""
        return self.after.guess(flight, mark, arrival)

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """The other's."""
        return self.after.rooms(flight, marks, unknowns)

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """The other's."""
        return self.after.sizes(radius, speed)

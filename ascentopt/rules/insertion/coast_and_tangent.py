"""Cut off when the apoapsis reaches the orbit, coast, then burn by a linear tangent around it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.ending import AtBeginOf
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn, coast_to_apoapsis
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import Arrival, Unknowns
from ascentopt.rules.insertion.refusals import CoastTooShort, StageNotNeeded
from ascentopt.steering.formulas import LinearTangent
from ascentopt.steering.programme import Phase, Programme


@dataclass(frozen=True, kw_only=True)
class CoastAndTangent(CoastAndBurn):
    """By one plan: `CoastAndBurn`, what burns after the coast led by a linear tangent.

    Half of the burn lies before the apoapsis of the coast, and at its middle the thrust is level.
    The unknowns are the radius of the apoapsis at cut-off (m), how fast the tangent of the pitch
    falls (1/s), and how long the last arc burns (s).
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "linear tangent"

    def remark(self, vehicle: Vehicle) -> str:
        """Also where the stage that inserts is the one that coasts: the name does not say so."""
        if self.cut is not None or self.by is not None:
            return super().remark(vehicle)
        last = vehicle.stages[-1].name
        return f"{last!r} is cut off at the apoapsis of the orbit and lit again there"

    @property
    def rivals(self) -> bool:
        """By the stage that inserts: a coast may cost less than one burn straight from ignition."""
        return self.cut is None

    def mends(self, failure: CompiledFlightError | None) -> bool:
        """Whatever a burn straight into the orbit failed by."""
        return self.by is None or isinstance(failure, StageNotNeeded)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Cut-off by apoapsis, coast, burns by the linear tangent, the last by the clock."""
        radius, rate, burn = unknowns
        burns = _burns(sequence)
        half = _half(burns, burn)
        law = super().law(plan, sequence, steps, (radius, half, burn))
        tangent = Phase(formula=LinearTangent(start=rate * half, rate=rate, since=None))
        *before, last = steps
        lit = replace(last, until=AtBeginOf(burns[0].name))
        return replace(law, steps=(*before, lit, tangent), by_arc=())

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The level burn of `CoastAndBurn`."""
        radius, _, burn = super().guess(flight, mark, arrival)
        return radius, 0.0, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """As `CoastAndBurn`; a burn that would begin before the cut-off begins there."""
        radius, _, burn = unknowns
        half = _half(_burns(flight.sequence), burn)
        margins = super().rooms(flight, marks, (radius, half, burn))
        return tuple(one for one in margins if one.kind is not CoastTooShort)

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A thousandth of the radius, a tenth in a hundred seconds, and a second."""
        return 1e-3 * radius, 1e-3, 1.0


def _burns(sequence: Sequence) -> list[FlightArc]:
    """After the coast."""
    return [arc for arc in sequence.arcs[coast_to_apoapsis(sequence) :] if arc.burning]


def _half(burns: list[FlightArc], last: float) -> float:
    """Half of what burns, s, the arcs before the last as short as they can be."""
    return 0.5 * (sum(arc.duration[0] for arc in burns[:-1]) + max(last, 0.0))

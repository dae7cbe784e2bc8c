"""Cut off when the apoapsis reaches the orbit, coast, then burn by a linear tangent around it."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.ending import AfterDuration, AtApoapsisRadius, AtNextApoapsis, Ending
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn, coast_to_apoapsis
from ascentopt.rules.insertion.cut_off import apoapsis_margin, ground_margin, tank_margin
from ascentopt.rules.insertion.feasibility_margin import NOTHING, FeasibilityMargin
from ascentopt.rules.insertion.insertion import Arrival, Unknowns, burn_margin
from ascentopt.rules.insertion.refusals import StageNotNeeded
from ascentopt.rules.insertion.tangent import guessed_tangent
from ascentopt.steering.formulas import LinearTangent
from ascentopt.steering.programme import Phase, Programme


@dataclass(frozen=True, kw_only=True)
class CoastAndTangent(CoastAndBurn):
    """By one plan: `CoastAndBurn`, what burns after the coast led by a linear tangent.

    Half of the burn lies before the apoapsis of the coast. The unknowns are those of `Tangent`: the
    tangent of the pitch where its clock begins, how fast it falls (1/s), and how long the last arc
    burns (s).

    Args:
        radius: m of the apoapsis at which the stage is cut off.
    """

    radius: float

    @property
    def name(self) -> str:
        """Its name."""
        return "linear tangent"

    def mends(self, failure: CompiledFlightError | None) -> bool:
        """Also by the stage that inserts, whatever its burn from ignition failed by."""
        if self.by is not None:
            return isinstance(failure, StageNotNeeded)
        return failure is not None if self.cut is None else super().mends(failure)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Cut-off by apoapsis, coast, burns by the linear tangent, the last by the clock."""
        start, rate, burn = unknowns
        place = coast_to_apoapsis(sequence)
        cut, coast, *after = sequence.arcs[place - 1 :]
        burns = [arc for arc in after if arc.burning]
        formula = LinearTangent(start=start, rate=rate, since=_clock(sequence, place))
        endings: tuple[tuple[str, Ending], ...] = (
            (cut.name, AtApoapsisRadius(self.radius)),
            (coast.name, AtNextApoapsis(_half(burns, burn))),
            (burns[-1].name, AfterDuration(max(burn, 0.0))),
        )
        by_arc = tuple((arc.name, formula) for arc in burns)
        return Programme(plan=plan, steps=steps, by_arc=by_arc, endings=endings)

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The level burn of `CoastAndBurn`, then the tangent from where it would begin."""
        burn = super().guess(flight, mark, arrival)[2]
        law = flight.law
        assert isinstance(law, Programme)
        level = self.law(law.plan, flight.sequence, law.steps, (0.0, 0.0, burn))
        own = flight.steered_by(level)
        there = own.fly(mark, coast_to_apoapsis(flight.sequence))
        start, rate, burn = guessed_tangent(flight, there, arrival)
        spent = there.time - _clock(flight.sequence, coast_to_apoapsis(flight.sequence))
        return start + rate * spent, rate, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For an apoapsis and a coast as low, and a burn as short as that."""
        mu, (first, cut) = flight.surroundings.body.gravitational_parameter, marks[:2]
        arcs, place = flight.sequence.arcs, self.begins(flight.sequence)
        stays = arcs[place].stage == arcs[-1].stage
        return (
            apoapsis_margin(mu, first, arcs[place], self.radius, NOTHING),
            ground_margin(flight, cut),
            burn_margin(flight, marks[-1], unknowns[2]),
            *(() if stays else (tank_margin(arcs[place], cut),)),
        )

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A tenth, one in the time in which the orbit turns a radian, and a hundredth of it."""
        return 0.1, speed / radius, 0.01 * radius / speed


def _clock(sequence: Sequence, place: int) -> float:
    """Shortest time in s at which the coast can end: to count from, no more."""
    return sum(arc.duration[0] for arc in sequence.arcs[: place + 1])


def _half(burns: list[FlightArc], last: float) -> float:
    """Half of what burns, s, the arcs before the last as short as they can be."""
    return 0.5 * (sum(arc.duration[0] for arc in burns[:-1]) + max(last, 0.0))

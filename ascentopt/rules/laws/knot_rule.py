"""Pitch programmes with knots as rules with many numbers, and how they end in a direct ascent."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite, pi

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.guidance.ending import AfterDuration, AtNextApoapsis, Ending
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn, level_burns
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import (
    Arrival,
    Insertion,
    Unknowns,
    burn_margin,
    burns_out,
)
from ascentopt.rules.insertion.refusals import TooHigh
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.formulas import PitchProgramme
from ascentopt.steering.knots import Knots, knots_of
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.programme import Phase, Programme
from ascentopt.units import deg
from ascentopt.world.orbital_elements import time_to_next_apoapsis


@dataclass(frozen=True, kw_only=True)
class KnotRule(Rule):
    """Pitch by knots; the open numbers are their abscissae, then their pitches.

    Args:
        start: the knots to begin with.
    """

    start: Knots

    @property
    def name(self) -> str:
        """Its name."""
        return f"pitch programme with {len(self.start.abscissae)} knots"

    @property
    def open(self) -> tuple[Open, ...]:
        """Two for each knot."""
        knots, unit = self.start.abscissae, "s" if self.start.against is Against.TIME else "m"
        count = len(knots)
        places = [
            Open(name=f"abscissa of knot {k + 1}", unit=unit, low=knots[0], high=knots[-1])
            for k in range(count)
        ]
        return (
            *places,
            *(
                Open(name=f"pitch at knot {k + 1}", unit="rad", low=-0.5 * pi, high=0.5 * pi)
                for k in range(count)
            ),
        )

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """The knots to begin with."""
        return numbers_of(self.start)

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """By the compass, then in the plane of motion."""
        knots = knots_from(self.start.against, values)
        return replace(knots, stops=self.start.stops).phases(pad.heading)


def numbers_of(knots: Knots) -> tuple[float, ...]:
    """Abscissae, then pitches."""
    return (*knots.abscissae, *knots.pitches)


def knots_from(against: Against, values: tuple[float, ...]) -> Knots:
    """The knots that these are the numbers of."""
    count = len(values) // 2
    return Knots(against=against, abscissae=values[:count], pitches=values[count:])


@dataclass(frozen=True, kw_only=True)
class ShiftedKnots(Insertion):
    """A programme with knots straight into the orbit, in one burn of each stage.

    The unknowns are what is added to the pitch at the last knot and at the one before (rad), and
    how long the last arc burns (s).

    Args:
        burn: s to begin with.
    """

    burn: float

    @property
    def name(self) -> str:
        """Its name."""
        return "shifted last knots"

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """An engine that can be shut down."""
        return burns_out(vehicle.stages[-1])

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """One burn of each stage."""
        return FlightPlan(inserting_stage=len(vehicle.stages) - 1, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """Once the vehicle steers: the first stretch that they change may begin there."""
        return next(k for k, arc in enumerate(sequence.arcs) if arc.rise is None)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """The knots shifted; cut-off by the clock."""
        knots, heading = knots_of(steps)
        return Programme(
            plan=plan,
            steps=knots.shifted(unknowns[:2]).phases(heading),
            endings=((sequence.arcs[-1].name, AfterDuration(max(unknowns[2], 0.0))),),
        )

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """As it is."""
        return 0.0, 0.0, self.burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For a burn as short as that."""
        return (burn_margin(flight, marks[-1], unknowns[2]),)

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A degree, a degree, and a second."""
        return 1.0 * deg, 1.0 * deg, 1.0


@dataclass(frozen=True, kw_only=True)
class CoastAndLevel(CoastAndBurn):
    """Cut off by apoapsis, coast to the next one, and burn horizontally around it.

    The unknowns are the radius of the apoapsis at cut-off (m), how long before the apoapsis the
    engine is lit again, and how long it burns (s). It begins wherever it is led.
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "coast to the next apoapsis and circularise"

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The impulse at the apoapsis, spread over the burn that it takes."""
        burn = _burn(flight, flight.fly_arc(mark), arrival)
        return arrival.radius, 0.5 * burn, burn


@dataclass(frozen=True, kw_only=True)
class CoastAndPitch(CoastAndLevel):
    """For a last stage that hardly burns, or not at all, before it coasts.

    The unknowns are how long it burns before the coast (s), how long before the apoapsis it is lit
    again, and how long it burns then (s). Where the first is negative it does not burn before the
    coast, and the last burn is pitched down by so many degrees instead: the flight climbs too high.
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "coast to the next apoapsis and burn at a constant pitch"

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Burns by the clock around a coast to the next apoapsis."""
        first, before, burn = unknowns
        *_, coast, last = sequence.arcs
        cut = sequence.arcs[self.begins(sequence)]
        endings: tuple[tuple[str, Ending], ...] = (
            (cut.name, AfterDuration(max(first, 0.0))),
            (coast.name, AtNextApoapsis(before)),
            (last.name, AfterDuration(max(burn, 0.0))),
        )
        pitch = min(first, 0.0) * deg
        constant = PitchProgramme(abscissae=(0.0,), pitches=(pitch,))
        return Programme(plan=plan, steps=steps, by_arc=((last.name, constant),), endings=endings)

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """Horizontally, by the impulse at the apoapsis."""
        burn = _burn(flight, mark, arrival)
        return 0.0, 0.5 * burn, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For a coast and a burn as short as that."""
        _, before, burn = unknowns
        mu, cut = flight.surroundings.body.gravitational_parameter, marks[1]
        left = time_to_next_apoapsis(mu, cut.state[:3], cut.state[3:6])
        fall = 0.5 * mu / float(cut.state[:3] @ cut.state[:3])
        why = "its coast would end before it begins"
        return (
            FeasibilityMargin(left=left - before, miss_per_unit=(0.0, fall, 0.0), why=why),
            burn_margin(flight, cut, burn),
        )

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """Seconds; the first also a degree."""
        return 1.0, 1.0, 1.0


def _burn(flight: CompiledFlight, cut: Checkpoint, arrival: Arrival) -> float:
    """Seconds that the last burn takes if it makes a circle at the apoapsis."""
    mu = flight.surroundings.body.gravitational_parameter
    if not isfinite(time_to_next_apoapsis(mu, cut.state[:3], cut.state[3:6])):
        raise TooHigh("the flight escapes")
    return level_burns(flight, cut, arrival)[-1]

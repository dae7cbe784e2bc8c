"""Cut off when the apoapsis reaches the orbit, coast there, burn horizontally around it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.ending import AfterDuration, AtApoapsisRadius, AtNextApoapsis, Ending
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.cut_off import (
    apoapsis_margin,
    coast_margin,
    ground_margin,
    refuse_beyond,
    refuse_sinking,
    tank_margin,
)
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import (
    Arrival,
    Insertion,
    Unknowns,
    burn_margin,
    burns_out,
    level_speed_at,
)
from ascentopt.rules.insertion.refusals import BeyondOrbit, NoTimeToCoast, StageNotNeeded
from ascentopt.steering.formulas import Level
from ascentopt.steering.programme import Phase, Programme


@dataclass(frozen=True, kw_only=True)
class CoastAndBurn(Insertion):
    """By one plan. After the coast every stage that burns does so horizontally.

    The unknowns are the radius of the apoapsis at cut-off (m), how long before the apoapsis the
    next burn begins, and how long the last arc burns (s). The finite burn ends in the orbit.

    Args:
        cut: index of the stage that is cut off; None = the last one.
        again: whether it is lit again after the coast; otherwise it is dropped before.
        by: index of the stage that ends in the orbit, those above it payload; None = the last one.
    """

    cut: int | None = None
    again: bool = True
    by: int | None = None

    @property
    def name(self) -> str:
        """Its name."""
        return "coast and circularise"

    def starts_in(self, vehicle: Vehicle) -> int:
        """The stage that is cut off."""
        return len(vehicle.stages) - 1 if self.cut is None else self.cut

    def ends_in(self, vehicle: Vehicle) -> int:
        """The stage that ends in the orbit."""
        return len(vehicle.stages) - 1 if self.by is None else self.by

    def mends(self, failure: CompiledFlightError | None) -> bool:
        """With a lower stage where the apoapsis was beyond, or a stage was not needed."""
        if self.by is not None:
            return isinstance(failure, StageNotNeeded)
        return self.cut is None or failure is None or isinstance(failure, BeyondOrbit)

    def remark(self, vehicle: Vehicle) -> str:
        """Which engine is cut off, and which is lit at the apoapsis."""
        cut, by = self.starts_in(vehicle), self.ends_in(vehicle)
        if cut == len(vehicle.stages) - 1:
            return ""
        lower = vehicle.stages[cut].name
        if self.again:
            rest = "" if by == cut else f", then {vehicle.stages[by].name!r}"
            return f"{lower!r} is cut off at the apoapsis of the orbit and lit again there{rest}"
        upper = vehicle.stages[cut + 1].name
        return f"{lower!r} is cut off at the apoapsis of the orbit and dropped, {upper!r} lit there"

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """A restart of the stage that is cut off, if it is to be lit again, and for the reserve."""
        cut, by = self.starts_in(vehicle), self.ends_in(vehicle)
        stage, last = vehicle.stages[cut], vehicle.stages[by]
        if solid := burns_out(stage, last):
            return solid
        kept = restarts_kept(mission)
        if self.again and stage.restarts <= (kept if cut == by else 0):
            return f"stage {stage.name!r} cannot be lit again for it"
        if last.restarts < kept:
            return f"stage {last.name!r} cannot be lit again for the way home"
        return ""

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """One burn of each stage, but for the one that is lit again."""
        cut, by = self.starts_in(vehicle), self.ends_in(vehicle)
        if not self.again:
            burns = FlightPlan(inserting_stage=by, cut_early=(cut,), coast_before=(cut + 1,))
        elif cut == by:
            burns = FlightPlan(inserting_stage=by, restarts=1)
        else:
            burns = FlightPlan(inserting_stage=by, relit=(cut,))
        unlit = len(vehicle.stages) - 1 - by
        return replace(burns, unlit=unlit, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """The burn that is cut off."""
        return coast_to_apoapsis(sequence) - 1

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Cut-off by apoapsis, coast to it, level burns, the last by the clock."""
        radius, before, burn = unknowns
        radius = max(radius, 1.0)  # a search may ask for none; every apoapsis is beyond a metre
        place = coast_to_apoapsis(sequence)
        cut, coast, *burns = sequence.arcs[place - 1 :]
        endings: tuple[tuple[str, Ending], ...] = (
            (cut.name, AtApoapsisRadius(radius)),
            (coast.name, AtNextApoapsis(before)),
            (burns[-1].name, AfterDuration(max(burn, 0.0))),
        )
        level = tuple((arc.name, Level()) for arc in burns if arc.burning)
        return Programme(plan=plan, steps=steps, by_arc=level, endings=endings)

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The impulse at the apoapsis, spread over the burns that it takes."""
        cut, left = self.cut_off(flight, mark, arrival)
        *earlier, last = level_burns(flight, cut, arrival)
        burning = sum(earlier) + last
        if 0.5 * burning > left:
            raise NoTimeToCoast(burning, left)
        return arrival.radius, 0.5 * burning, last

    def cut_off(
        self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival
    ) -> tuple[Checkpoint, float]:
        """Where the engine is cut off, and seconds to the apoapsis from there.

        Raises:
            CompiledFlightError: where the apoapsis is beyond, or behind.
        """
        mu = flight.surroundings.body.gravitational_parameter
        arc = flight.sequence.arcs[self.begins(flight.sequence)]
        refuse_beyond(mu, mark, arc, arrival.radius)
        cut = flight.fly_arc(mark)
        refuse_beyond(mu, cut, arc, arrival.radius)
        return cut, refuse_sinking(mu, cut)

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For an apoapsis as low, a coast as low, and a burn as early and as short as that."""
        radius, before, burn = unknowns
        mu, (first, cut) = flight.surroundings.body.gravitational_parameter, marks[:2]
        arcs, place = flight.sequence.arcs, self.begins(flight.sequence)
        stays = arcs[place].stage == arcs[-1].stage
        return (
            apoapsis_margin(mu, first, arcs[place], radius),
            coast_margin(mu, cut, before),
            ground_margin(flight, cut),
            burn_margin(flight, cut, burn),
            *(() if stays else (tank_margin(arcs[place], cut),)),
        )

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A thousandth of the radius, and a second."""
        return 1e-3 * radius, 1.0, 1.0


def coast_to_apoapsis(sequence: Sequence) -> int:
    """Index of the coast to the apoapsis."""
    return max(k for k, arc in enumerate(sequence.arcs) if arc.free_coast)


def level_burns(flight: CompiledFlight, cut: Checkpoint, arrival: Arrival) -> list[float]:
    """Seconds that each arc burns after a coast from `cut` to end as told.

    Raises:
        StageNotNeeded: where less than the arcs before the last would do.
    """
    missing = arrival.speed - level_speed_at(arrival.radius, cut)
    *earlier, last = [arc for arc in flight.sequence.arcs[len(cut.begun) :] if arc.burning]
    mass, found = cut.mass, list[float]()
    for arc in earlier:
        thrust, flow = arc.parameters.thrust, arc.parameters.mass_flow
        seconds = max(mass - arc.least_mass, 0.0) / flow
        missing -= thrust / flow * log(mass / (mass - flow * seconds))
        found.append(seconds)
        mass = arc.joint.mass(mass - flow * seconds)
    if missing < 0.0 and earlier:
        raise StageNotNeeded(f"{last.name!r} is not needed: those before it have more than enough")
    return [*found, last.seconds_to_gain(mass, max(missing, 0.0))]

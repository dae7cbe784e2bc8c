"""The last burn as it is flown by hand: level, and throttled so that the apoapsis stays ahead."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.flight.compiled.compiled_flight import Checkpoint, CompiledFlight
from ascentopt.flight.guidance.ending import AtApoapsisRadius, BelowEccentricity
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn
from ascentopt.rules.insertion.insertion import Arrival, Insertion, Unknowns
from ascentopt.steering.formulas import Level
from ascentopt.steering.held_apoapsis import HeldApoapsis
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import ThrottleProgramme, throttled

_NEARLY_ROUND = 0.02
"""Eccentricity from which on the throttle stays at its least: in a circle no apoapsis is ahead."""


@dataclass(frozen=True, kw_only=True)
class CoastAndHold(CoastAndBurn):
    """By one plan: `CoastAndBurn`, its last burn throttled."""

    @property
    def name(self) -> str:
        """Its name."""
        return "coast and hold the apoapsis ahead"

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """Also an engine that throttles, and a circle to end in."""
        last, body = vehicle.stages[self.ends_in(vehicle)], mission.body
        if last.engine.min_throttle >= 1.0:
            return f"the engine of stage {last.name!r} cannot be throttled for it"
        low = mission.orbit.periapsis_radius_around(body)
        if low is None or low != mission.orbit.apoapsis_radius_around(body):
            return "in an ellipse the burn does not end where the apoapsis is ahead"
        return super().lacks(vehicle, mission)

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """As at full throttle, but longer: most of the burn is between full and half way down."""
        radius, before, burn = super().guess(flight, mark, arrival)
        half = 0.5 * (1.0 + flight.sequence.arcs[-1].min_throttle)
        return radius, before, burn * 2.0 / (1.0 + half)

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """The stage that ends in the orbit throttles."""
        plan = super().plan(vehicle, fairing_arc)
        return replace(plan, throttling=(self.ends_in(vehicle),))

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Held until the orbit is nearly round, then at the least throttle to the end."""
        level = super().law(plan, sequence, steps, unknowns)
        last = sequence.arcs[-1]
        radius, before, _ = unknowns
        mu, floor = last.kind.body.gravitational_parameter, last.min_throttle
        held = HeldApoapsis(mu=mu, ahead=before, least=floor)
        least = ThrottleProgramme(throttles=(floor,))
        phases = (
            *steps[:-1],
            replace(steps[-1], until=AtApoapsisRadius(radius)),
            Phase(formula=held, until=BelowEccentricity(_NEARLY_ROUND)),
            Phase(formula=throttled(Level(), least, floor)),
        )
        others = tuple(pair for pair in level.by_arc if pair[0] != last.name)
        return replace(level, steps=phases, by_arc=others)


@dataclass(frozen=True, kw_only=True)
class HoldApoapsis(CoastAndHold):
    """Cut off at the apoapsis of the orbit, coast, then burn level with the apoapsis held ahead.

    As `Circularise`, for a stage that throttles: down as the time to the apoapsis grows, up as it
    runs out, until the orbit is nearly round (common practice, no source).
    """

    def ways(self, vehicle: Vehicle, arrival: Arrival) -> tuple[Insertion, ...]:
        """With the last stage, then with ever lower ones."""
        last = len(vehicle.stages) - 1
        lower = (
            CoastAndHold(cut=cut, again=vehicle.stages[cut].restarts > 0)
            for cut in reversed(range(last))
        )
        return CoastAndHold(), *lower

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """What all of its ways lack."""
        nowhere = Arrival(radius=1.0, speed=1.0)  # what they lack does not depend on it
        lacks = [way.lacks(vehicle, mission) for way in self.ways(vehicle, nowhere)]
        return lacks[0] if all(lacks) else ""

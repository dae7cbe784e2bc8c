"""The last burn as it is flown by hand: level, and throttled so that the apoapsis stays ahead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import asin, log

from ascentopt.arguments import checked
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import (
    ANYWHERE,
    Arrival,
    Insertion,
    Unknowns,
    common_lack,
    level_speed_at,
)
from ascentopt.rules.insertion.refusals import NoTimeToCoast, TooHigh
from ascentopt.steering.held_apoapsis import HeldApoapsis
from ascentopt.steering.programme import Phase, Programme
from ascentopt.validation import not_negative

_SHARE = 0.75  # of full thrust with which the apoapsis is held at first
_STEEPEST = 0.9  # sine of the angle to the apoapsis, beyond which it is no apoapsis to speak of
_ROOM = 0.5  # of the eccentricity at first: what must be left for holding
_UNIT = 0.01  # of eccentricity, which counts as a second


@dataclass(frozen=True, kw_only=True)
class CoastAndHold(CoastAndBurn):
    """By one plan: `CoastAndBurn`, its last burn throttled.

    The unknowns are the radius of the apoapsis at cut-off (m), the eccentricity from which on the
    throttle stays at its least, so that the apoapsis is reached as the orbit is round, and how long
    the last arc burns (s).

    Args:
        ahead: s before the apoapsis at which the burn begins, and at which it is held.
    """

    ahead: float

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

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """The stage that ends in the orbit throttles."""
        plan = super().plan(vehicle, fairing_arc)
        return replace(plan, throttling=(self.ends_in(vehicle),))

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Held until the orbit is nearly round, then at the least throttle to the end."""
        radius, nearly_round, burn = unknowns
        law = super().law(plan, sequence, steps, (radius, self.ahead, burn))
        last = sequence.arcs[-1]
        held = HeldApoapsis(
            mu=last.kind.body.gravitational_parameter,
            ahead=self.ahead,
            nearly_round=nearly_round,
            least=last.min_throttle,
        )
        others = tuple(pair for pair in law.by_arc if pair[0] != last.name)
        return replace(law, by_arc=(*others, (last.name, held)))

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """The eccentricity falls as exp(-t/ahead) while the apoapsis is held.

        At the least throttle the burn lies evenly about the apoapsis, and takes twice the seconds.
        """
        last = flight.sequence.arcs[-1]
        cut, left = self.cut_off(flight, mark, arrival)
        if left < self.ahead:
            raise NoTimeToCoast(2.0 * self.ahead, left)
        eccentricity = 1.0 - (level_speed_at(arrival.radius, cut) / arrival.speed) ** 2
        push = last.min_throttle * last.parameters.thrust / cut.mass
        nearly_round = 4.0 * push * self.ahead / arrival.speed
        if nearly_round > _ROOM * eccentricity:
            what = "cannot throttle down so far that the apoapsis stays ahead"
            raise TooHigh(f"{last.name!r} {what}")
        burn = self.ahead * (log(eccentricity / nearly_round) + 2.0)
        return arrival.radius, nearly_round, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """As `CoastAndBurn`, and for an orbit as round as that."""
        radius, nearly_round, burn = unknowns
        why = "the apoapsis would be held until after the orbit is round"
        held = FeasibilityMargin(left=nearly_round / _UNIT, miss_per_unit=(0.0, 0.0, 0.0), why=why)
        return *super().rooms(flight, marks, (radius, self.ahead, burn)), held

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A thousandth of the radius, a hundredth, and a second."""
        return 1e-3 * radius, 0.01, 1.0


@checked
@dataclass(frozen=True, kw_only=True)
class HoldApoapsis(CoastAndHold):
    """Cut off at the apoapsis of the orbit, coast, then burn level with the apoapsis held ahead.

    As `Circularise`, for a stage that throttles: down as the time to the apoapsis grows, up as it
    runs out, and at last at the least throttle (common practice, no source). It takes an engine
    with thrust to spare that throttles far down.

    Args:
        ahead: s at which the apoapsis is held; zero for as many as three quarters of the thrust can
            hold of a vehicle that hardly moves along.
    """

    ahead: float = 0.0

    def __post_init__(self) -> None:
        fix = "Give seconds, or 0 for what the engine can hold."
        not_negative("HoldApoapsis", "ahead", self.ahead, "s", fix)

    def ways(self, vehicle: Vehicle, arrival: Arrival) -> tuple[Insertion, ...]:
        """With the last stage, then with ever lower ones."""
        last = len(vehicle.stages) - 1
        ahead = self.ahead or seconds_ahead(vehicle, arrival)
        lower = (
            CoastAndHold(cut=cut, again=vehicle.stages[cut].restarts > 0, ahead=ahead)
            for cut in reversed(range(last))
        )
        return CoastAndHold(ahead=ahead), *lower

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """What all of its ways lack."""
        return common_lack(self.ways(vehicle, ANYWHERE), vehicle, mission)


def seconds_ahead(vehicle: Vehicle, arrival: Arrival) -> float:
    """Seconds before the apoapsis where most of the last stage's thrust keeps it as far ahead.

    To do so takes e v n / (2 sin(angle to the apoapsis)) of acceleration, from the variation of an
    ellipse's elements under a small tangential push (textbook matter, from memory), with e = 1, the
    speed v and rate n of the orbit.
    """
    last = vehicle.stages[-1]
    thrust = _SHARE * last.engine.mean_thrust / (vehicle.payload_mass + last.mass)
    rate = arrival.speed / arrival.radius
    return asin(min(_STEEPEST, arrival.speed * rate / (2.0 * thrust))) / rate

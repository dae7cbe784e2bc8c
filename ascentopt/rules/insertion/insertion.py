"""How a rule of thumb enters the orbit once it is above the dense air."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from ascentopt.flight.compiled.compiled_flight import (
    Checkpoint,
    CompiledFlight,
    CompiledFlightError,
)
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import AfterDuration, AtApoapsisRadius, AtNextApoapsis, Ending
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.steering.formulas import Level, LinearTangent
from ascentopt.steering.programme import Phase, Programme
from ascentopt.units import km
from ascentopt.world.orbital_elements import (
    apoapsis_radius,
    climb_and_level,
    periapsis_radius,
    time_to_next_apoapsis,
)

Unknowns = tuple[float, ...]

_BEYOND = "the apoapsis is beyond the orbit before the last stage can be cut off"
_CLEAR = 1.0  # km above the ellipsoid; compiled flights see the ground at the ends of steps only
_GRAZES = f"its coast would pass the ground at less than {_CLEAR:.0f} km"
_NO_COAST = "there is no time to coast: the burn would have to begin before cut-off"


class TooHigh(CompiledFlightError):
    """The flight climbs so steeply that it cannot be brought into the orbit where it peaks."""


class NoTimeToCoast(TooHigh):
    """The burn that circularises would have to begin before the cut-off.

    Attributes:
        share: of half the burn, the time to the apoapsis at cut-off.
    """

    def __init__(self, burn: float, left: float) -> None:
        super().__init__(
            f"the burn that circularises takes {burn:.0f} s, half of it before the apoapsis, which "
            f"is only {left:.0f} s away when it reaches the orbit; a linear tangent needs no coast"
        )
        self.share = left / (0.5 * burn)


class TooFlat(CompiledFlightError):
    """The flight sinks again before it can be cut off."""


class Insertion(ABC):
    """Two or three numbers by which the end of a flight is brought into a circular orbit."""

    @property
    @abstractmethod
    def name(self) -> str:
        """As the trade calls it."""

    @abstractmethod
    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """What the vehicle lacks for it; empty when it lacks nothing."""

    @abstractmethod
    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """The burns and coasts."""

    @abstractmethod
    def begins(self, sequence: Sequence) -> int:
        """Index of the first arc on which the unknowns act."""

    @abstractmethod
    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Steering through the air by `steps`, then into the orbit."""

    @abstractmethod
    def guess(self, flight: CompiledFlight, mark: Checkpoint, radius: float) -> Unknowns:
        """Unknowns to start from; `mark` is where they begin to act.

        Raises:
            CompiledFlightError: when there is no way into the orbit of this radius (m) from there.
        """

    @abstractmethod
    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """What is left until the unknowns cannot be flown.

        `marks` are where the unknowns begin to act and the ends of the arcs from `begins` on.
        """

    @abstractmethod
    def sizes(self, radius: float, speed: float) -> Unknowns:
        """Changes of the unknowns that matter about equally; radius and speed of the orbit."""


@dataclass(frozen=True, kw_only=True)
class Circularise(Insertion):
    """Cut off when the apoapsis reaches the orbit, coast there, burn horizontally around it.

    The unknowns are the radius of the apoapsis at cut-off (m), how long before the apoapsis the
    engine is lit again, and how long it burns (s). The finite burn ends in the circle.
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "coast and circularise"

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """A restart of the last stage."""
        last = vehicle.stages[-1]
        spent = last.restarts <= restarts_kept(mission)
        again = f"stage {last.name!r} cannot be lit again for it" if spent else ""
        return burns_out(vehicle) or again

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """All stages, the last one twice."""
        last = len(vehicle.stages) - 1
        return FlightPlan(inserting_stage=last, restarts=1, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """The burn that is cut off."""
        return max(k for k, arc in enumerate(sequence.arcs[:-1]) if arc.burning)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Cut-off by apoapsis, coast to it, level burn by the clock."""
        radius, before, burn = unknowns
        *_, coast, last = sequence.arcs
        cut = sequence.arcs[self.begins(sequence)]
        endings: tuple[tuple[str, Ending], ...] = (
            (cut.name, AtApoapsisRadius(radius)),
            (coast.name, AtNextApoapsis(before)),
            (last.name, AfterDuration(max(burn, 0.0))),
        )
        return Programme(plan=plan, steps=steps, by_arc=((last.name, Level()),), endings=endings)

    def guess(self, flight: CompiledFlight, mark: Checkpoint, radius: float) -> Unknowns:
        """The impulse at the apoapsis, spread over the burn that it takes."""
        mu = flight.surroundings.body.gravitational_parameter
        _refuse_beyond(mu, mark, radius)
        cut = flight.fly_arc(mark)
        _refuse_beyond(mu, cut, radius)
        position, velocity = cut.state[:3], cut.state[3:6]
        left = time_to_next_apoapsis(mu, position, velocity)
        if left < 0.0:
            raise TooFlat("the flight sinks again before its apoapsis reaches the orbit")
        burn = circular_burn(flight, cut, radius)
        if 0.5 * burn > left:
            raise NoTimeToCoast(burn, left)
        return radius, 0.5 * burn, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For an apoapsis as low, a coast as low, and a burn as early and as short as that."""
        radius, before, burn = unknowns
        mu, (first, cut) = flight.surroundings.body.gravitational_parameter, marks[:2]
        fall = 0.5 * mu / float(cut.state[:3] @ cut.state[:3])
        already = apoapsis_radius(mu, first.state[:3], first.state[3:6])
        left = time_to_next_apoapsis(mu, cut.state[:3], cut.state[3:6])
        return (
            FeasibilityMargin(
                left=(radius - already) / km, miss_per_unit=(-km, 0.0, 0.0), why=_BEYOND
            ),
            FeasibilityMargin(left=left - before, miss_per_unit=(0.0, fall, 0.0), why=_NO_COAST),
            FeasibilityMargin(
                left=_lowest(flight, cut) / km - _CLEAR, miss_per_unit=(0.0, 0.0, 0.0), why=_GRAZES
            ),
            burn_margin(flight, cut, burn),
        )

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A thousandth of the radius, and a second."""
        return 1e-3 * radius, 1.0, 1.0


def _lowest(flight: CompiledFlight, cut: Checkpoint) -> float:
    """Least altitude of a coast in m: at its begin or, where it sinks, at its periapsis."""
    position, velocity = cut.state[:3], cut.state[3:6]
    altitude = flight.surroundings.altitude(cut.state)
    if float(position @ velocity) >= 0.0:
        return altitude
    mu = flight.surroundings.body.gravitational_parameter
    return altitude - float(np.linalg.norm(position)) + periapsis_radius(mu, position, velocity)


def _refuse_beyond(mu: float, mark: Checkpoint, radius: float) -> None:
    if apoapsis_radius(mu, mark.state[:3], mark.state[3:6]) > radius * (1.0 + 1e-5):
        raise TooHigh(_BEYOND)


@dataclass(frozen=True, kw_only=True)
class LinearTangentInsertion(Insertion):
    """The last stage steers by a linear tangent straight into the orbit, in one burn.

    The unknowns are the tangent of the pitch at its ignition, how fast it falls (1/s), and how long
    its last arc burns (s).
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "linear tangent"

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """A second stage, and an engine that can be shut down."""
        alone = len(vehicle.stages) == 1
        return burns_out(vehicle) or ("there is no upper stage to steer by it" if alone else "")

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """One burn of each stage."""
        return FlightPlan(inserting_stage=len(vehicle.stages) - 1, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """The last stage's ignition."""
        last = sequence.arcs[-1].stage
        return min(k for k, a in enumerate(sequence.arcs) if a.stage == last and a.burning)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Linear tangent on every arc of the last stage, cut off by the clock."""
        start, rate, burn = unknowns
        formula: Formula = LinearTangent(start=start, rate=rate, since=_nominal_ignition(sequence))
        arcs = sequence.arcs[self.begins(sequence) :]
        return Programme(
            plan=plan,
            steps=steps,
            by_arc=tuple((arc.name, formula) for arc in arcs if arc.burning),
            endings=((sequence.arcs[-1].name, AfterDuration(max(burn, 0.0))),),
        )

    def guess(self, flight: CompiledFlight, mark: Checkpoint, radius: float) -> Unknowns:
        """From a constant acceleration over a flat body: heights and speeds that still miss."""
        mu = flight.surroundings.body.gravitational_parameter
        position, velocity = mark.state[:3], mark.state[3:6]
        distance, speed = float(np.linalg.norm(position)), sqrt(mu / radius)
        climb, level = climb_and_level(position, velocity)
        last = flight.sequence.arcs[-1].parameters
        thrust, flow = last.thrust, last.mass_flow
        exhaust = thrust / flow
        burn = mark.mass / flow * (1.0 - exp(-1.15 * max(speed - level, 1.0) / exhaust))
        # Mean of the pull that the turning of the vertical leaves; then two integrals over the
        # burn, of acceleration times a tangent that falls linearly, for height and climb.
        pull = mu / radius**2 * (1.0 - ((level + speed) / (2.0 * speed)) ** 2)
        push = max(speed - level, 1.0) / burn
        mean = (pull - climb / burn) / push
        rise = (radius - distance - climb * burn + 0.5 * pull * burn**2) / (push * burn**2)
        rate = 12.0 * (rise - 0.5 * mean) / burn
        start = mean + 0.5 * rate * burn
        spent = mark.time - _nominal_ignition(flight.sequence)
        return start + rate * spent, rate, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For a burn as short as that."""
        return (burn_margin(flight, marks[-1], unknowns[2]),)

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A tenth, a tenth over a thousand seconds, and ten seconds."""
        return 0.1, 1e-4, 10.0


def _nominal_ignition(sequence: Sequence) -> float:
    """Shortest time in s at which the last stage can be lit: a clock to count from, no more."""
    last = sequence.arcs[-1].stage
    return sum(a.duration[0] for a in sequence.arcs if a.stage < last)


def burns_out(vehicle: Vehicle) -> str:
    """What the last stage lacks to be shut down; empty when it lacks nothing."""
    last = vehicle.stages[-1]
    solid = isinstance(last.engine, SolidMotor)
    return f"stage {last.name!r} has a solid motor that cannot be shut down" if solid else ""


def circular_burn(flight: CompiledFlight, cut: Checkpoint, radius: float) -> float:
    """Seconds that the last stage burns after a coast from `cut` to make a circle of the radius."""
    mu = flight.surroundings.body.gravitational_parameter
    momentum = float(np.linalg.norm(np.cross(cut.state[:3], cut.state[3:6])))
    missing = max(sqrt(mu / radius) - momentum / radius, 0.0)
    last = flight.sequence.arcs[-1].parameters
    thrust, flow = last.thrust, last.mass_flow
    return float(cut.state[MASS] / flow * (1.0 - exp(-missing * flow / thrust)))


def burn_margin(flight: CompiledFlight, mark: Checkpoint, seconds: float) -> FeasibilityMargin:
    """For a last burn that may not end before it begins."""
    push = flight.sequence.arcs[-1].parameters.thrust / mark.mass
    why = "its last burn would end before it begins"
    return FeasibilityMargin(left=seconds, miss_per_unit=(0.0, 0.0, -push), why=why)

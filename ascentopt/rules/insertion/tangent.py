"""A linear tangent into the orbit: from the last ignition, or where the apoapsis reaches it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from typing import cast

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.ending import AfterDuration, AtApoapsisRadius, AtEmpty, Ending
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.cut_off import (
    apoapsis_margin,
    refuse_beyond,
    refuse_sinking,
    stage_name,
    tank_margin,
)
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.insertion import (
    Arrival,
    Insertion,
    Unknowns,
    burn_margin,
    burns_out,
)
from ascentopt.rules.insertion.refusals import CoastTooShort, NoTimeToCoast, TooLittlePropellant
from ascentopt.steering.formulas import LinearTangent
from ascentopt.steering.programme import Phase, Programme
from ascentopt.world.orbital_elements import climb_and_level


@dataclass(frozen=True, kw_only=True)
class Tangent(Insertion):
    """One burn by a linear tangent into the orbit.

    The unknowns are the tangent of the pitch where its clock begins, how fast it falls (1/s), and
    how long the last arc burns (s).
    """

    @property
    def name(self) -> str:
        """Its name."""
        return "linear tangent"

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A tenth, a tenth over a thousand seconds, and ten seconds."""
        return 0.1, 1e-4, 10.0


@dataclass(frozen=True, kw_only=True)
class TangentFromIgnition(Tangent):
    """The last stage steers by it on all of its arcs; the clock begins at a nominal ignition."""

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """A second stage, and an engine that can be shut down."""
        alone = len(vehicle.stages) == 1
        return burns_out(vehicle.stages[-1]) or (
            "there is no upper stage to steer by it" if alone else ""
        )

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """One burn of each stage."""
        return FlightPlan(inserting_stage=len(vehicle.stages) - 1, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """The last stage's ignition."""
        return _ignition(sequence)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Linear tangent on every arc of the last stage, cut off by the clock."""
        start, rate, _ = unknowns
        formula = LinearTangent(start=start, rate=rate, since=_nominal_ignition(sequence))
        arcs = sequence.arcs[self.begins(sequence) :]
        return Programme(
            plan=plan,
            steps=steps,
            by_arc=tuple((arc.name, formula) for arc in arcs if arc.burning),
            endings=(_last_end(sequence, unknowns),),
        )

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """From a constant acceleration over a flat body: heights and speeds that still miss."""
        start, rate, burn = _tangent_guess(flight, mark, arrival)
        spent = mark.time - _nominal_ignition(flight.sequence)
        return start + rate * spent, rate, burn

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For a burn as short as that."""
        return (burn_margin(flight, marks[-1], unknowns[2]),)


@dataclass(frozen=True, kw_only=True)
class TangentFromApoapsis(Tangent):
    """From where the apoapsis reaches the orbit: one long burn around it, without a coast.

    Args:
        radius: m of the apoapsis from which on it is steered by.
        cut: index of the stage that is dropped there; None where the last stage burns on.
        instead: of a coast only, where there is no time for one.
    """

    radius: float
    cut: int | None = None
    instead: bool = False

    @property
    def name(self) -> str:
        """Its name, where it is no linear tangent for its own sake."""
        return "one long burn around the apoapsis" if self.instead else "linear tangent"

    def starts_in(self, vehicle: Vehicle) -> int:
        """The stage that burns there."""
        return len(vehicle.stages) - 1 if self.cut is None else self.cut

    def mends(self, failure: CompiledFlightError | None) -> bool:
        """Where it stands for a coast: one for which there is no time."""
        return not self.instead or isinstance(failure, NoTimeToCoast | CoastTooShort)

    def remark(self, vehicle: Vehicle) -> str:
        """Where the burn begins."""
        last = vehicle.stages[-1].name
        if self.cut is None:
            return f"{last!r} burns on from where the apoapsis reaches the orbit, without a coast"
        lower = vehicle.stages[self.cut].name
        return (
            f"{lower!r} is cut off when the apoapsis reaches the orbit and dropped, {last!r} burns "
            "from there without a coast"
        )

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """Engines that can be shut down."""
        return burns_out(vehicle.stages[-1], vehicle.stages[self.starts_in(vehicle)])

    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """One burn of each stage."""
        early = () if self.cut is None else (self.cut,)
        last = len(vehicle.stages) - 1
        return FlightPlan(inserting_stage=last, cut_early=early, fairing_arc=fairing_arc)

    def begins(self, sequence: Sequence) -> int:
        """The burn that is cut off, or the last stage's ignition."""
        if self.cut is None:
            return _ignition(sequence)
        return max(k for k, arc in enumerate(sequence.arcs) if arc.stage == self.cut)

    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """As the rule until the apoapsis is there, then the linear tangent."""
        start, rate, _ = unknowns
        there: Ending = AtApoapsisRadius(self.radius)
        tangent = Phase(formula=LinearTangent(start=start, rate=rate, since=None))
        cut = () if self.cut is None else ((sequence.arcs[self.begins(sequence)].name, there),)
        return Programme(
            plan=plan,
            steps=(*steps[:-1], replace(steps[-1], until=there), tangent),
            endings=(*cut, _last_end(sequence, unknowns)),
        )

    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """As the other's, from where the apoapsis is there."""
        mu = flight.surroundings.body.gravitational_parameter
        arc = flight.sequence.arcs[self.begins(flight.sequence)]
        refuse_beyond(mu, mark, arc, arrival.radius)
        if self.cut is not None:
            there = flight.fly_arc(mark)
            refuse_sinking(mu, there)
            _refuse_too_little(flight, there, arrival)
            return _tangent_guess(flight, there, arrival)
        there, spent = _switch(flight, mark)
        refuse_sinking(mu, there)
        _refuse_too_little(flight, there, arrival)
        start, rate, burn = _tangent_guess(flight, there, arrival)
        return start, rate, burn + spent

    def sizes(self, radius: float, speed: float) -> Unknowns:
        """A tenth, one in the time in which the orbit turns a radian, and a hundredth of it."""
        return 0.1, speed / radius, 0.01 * radius / speed

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """For a burn as short as that, and a lower stage that burns no more than it has."""
        burn = burn_margin(flight, marks[-1], unknowns[2])
        if self.cut is None:
            return (burn,)
        mu = flight.surroundings.body.gravitational_parameter
        arc = flight.sequence.arcs[self.begins(flight.sequence)]
        beyond = apoapsis_margin(mu, marks[0], arc, self.radius)
        return burn, replace(beyond, miss_per_unit=(0.0, 0.0, 0.0)), tank_margin(arc, marks[1])


def _tangent_guess(flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
    """From a constant acceleration over a flat body: heights and speeds that still miss.

    The tangent is that at the mark.
    """
    mu, (radius, speed) = flight.surroundings.body.gravitational_parameter, arrival
    position, velocity = mark.state[:3], mark.state[3:6]
    distance = float(np.linalg.norm(position))
    climb, level = climb_and_level(position, velocity)
    burn = flight.sequence.arcs[-1].seconds_to_gain(mark.mass, 1.15 * max(speed - level, 1.0))
    # Mean of the pull that the turning of the vertical leaves; then two integrals over the
    # burn, of acceleration times a tangent that falls linearly, for height and climb.
    pull = mu / radius**2 * (1.0 - ((level + speed) / (2.0 * speed)) ** 2)
    push = max(speed - level, 1.0) / burn
    mean = (pull - climb / burn) / push
    rise = (radius - distance - climb * burn + 0.5 * pull * burn**2) / (push * burn**2)
    rate = 12.0 * (rise - 0.5 * mean) / burn
    return mean + 0.5 * rate * burn, rate, burn


def _refuse_too_little(flight: CompiledFlight, there: Checkpoint, arrival: Arrival) -> None:
    """Raise `TooLittlePropellant` where not even an impulse along the ground can be paid for.

    No credit is given: a flight that owes is flown by the usual plan, if at all. Stages between
    the one that is cut off and the last are not reckoned with.
    """
    last = flight.sequence.arcs[-1]
    level = climb_and_level(there.state[:3], there.state[3:6])[1]
    exhaust = last.parameters.thrust / last.parameters.mass_flow
    lightest = there.mass * exp(-max(arrival.speed - level, 0.0) / exhaust)
    lacking = last.least_mass - lightest
    between = {arc.stage for arc in flight.sequence.arcs[len(there.begun) :] if arc.burning}
    if lacking > 0.0 and between <= {last.stage}:
        what = f"lacks {lacking:.0f} kg of propellant for the speed of the orbit alone"
        raise TooLittlePropellant(f"{stage_name(last)!r} {what}")


def _last_end(sequence: Sequence, unknowns: Unknowns) -> tuple[str, Ending]:
    return sequence.arcs[-1].name, AfterDuration(max(unknowns[2], 0.0))


def _ignition(sequence: Sequence) -> int:
    """Index of the first arc that the last stage burns on, not counting a vertical rise."""
    last = sequence.arcs[-1].stage
    return min(k for k, a in enumerate(sequence.arcs) if a.stage == last and a.burning)


def _nominal_ignition(sequence: Sequence) -> float:
    """Shortest time in s at which the last stage can be lit: a clock to count from, no more."""
    last = sequence.arcs[-1].stage
    return sum(a.duration[0] for a in sequence.arcs if a.stage < last)


def _switch(flight: CompiledFlight, mark: Checkpoint) -> tuple[Checkpoint, float]:
    """Where the last stage begins to steer by it, and since when (s) it burns on its last arc."""
    law, arcs = cast(Programme, flight.law), flight.sequence.arcs
    endless = replace(law, endings=((arcs[-1].name, AtEmpty()),))
    own = flight.steered_by(endless, last_phase=len(law.phases))
    began = mark.time
    while len(mark.begun) < len(arcs) and mark.phase < own.last_phase:
        began, mark = mark.time, own.fly_arc(mark)
    return mark, mark.time - began if len(mark.begun) == len(arcs) - 1 else 0.0

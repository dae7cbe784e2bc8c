"""A rule of thumb flown into the orbit: its numbers given, the insertion found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import atan2, cos, pi, sqrt
from typing import Any

import numpy as np

from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import ArcNotEnded, CompiledFlightError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.progress import Deadline
from ascentopt.rocket import Vehicle
from ascentopt.rules.evaluate.arrivals import arrivals_of
from ascentopt.rules.evaluate.check_begins import check_begins
from ascentopt.rules.evaluate.choice import Choice
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.stage_reached import speed_after_rise, stage_reached
from ascentopt.rules.evaluate.terminal_conditions import InsertionProblem
from ascentopt.rules.evaluate.terminal_solve import InsertionStart, solve_insertion
from ascentopt.rules.evaluate.waiting import timed
from ascentopt.rules.insertion.insertion import Arrival, Insertion
from ascentopt.rules.laws.rule import Pad, Rule, steps_of
from ascentopt.steering.throttling import ThrottleProgramme, within


@dataclass(frozen=True, eq=False, kw_only=True)
class RuleFlight:
    """A rule with a way to insert, for one vehicle on one mission.

    Args:
        throttling: of engines that can be throttled; None for full thrust, or what keeps the axial
            acceleration within the mission's limit where it has one.
        slack: how many times 0.1 m, 0.1 mm/s and 1e-7 rad of inclination a flight may miss the
            orbit.
        at: where it ends; None for a flight that chooses that, and among its insertion's ways.
        keeps_fairing: whether the fairing goes on the last coast, though it might go before.
        deadline: when no flight may begin any more; `TimeIsUp` is raised then.

    Raises:
        InputError: for an orbit that rules cannot end in; see `arrivals_of`.
    """

    vehicle: Vehicle
    mission: Mission
    rule: Rule
    insertion: Insertion
    throttling: ThrottleProgramme | None = None
    slack: float = 1.0
    at: Arrival | None = None
    keeps_fairing: bool = False
    deadline: Deadline = Deadline()

    def __post_init__(self) -> None:
        arrivals_of(self.mission)

    @cached_property
    def _compiled(self) -> dict[FlightPlan, CompiledFlight]:
        """What flights with the same plan share; it stays in the process."""
        return {}

    def __getstate__(self) -> dict[str, Any]:
        return {name: value for name, value in vars(self).items() if name != "_compiled"}

    @cached_property
    def arrival(self) -> Arrival:
        """Where it ends, or usually ends."""
        return self.at or arrivals_of(self.mission)[0]

    @cached_property
    def ways(self) -> tuple[RuleFlight, ...]:
        """Flights by one plan each that the vehicle has what it takes for, usual ones first.

        Empty where the insertion lacks something altogether.
        """
        if self.at is not None:
            return (self,)
        return tuple(
            replace(self, insertion=way, at=arrival)
            for arrival in arrivals_of(self.mission)
            for way in self.insertion.ways(self.vehicle, arrival)
            if not way.lacks(self.vehicle, self.mission)
        )

    @cached_property
    def usual(self) -> tuple[RuleFlight, ...]:
        """The one that is flown when nothing is known; empty where there is none."""
        return tuple(way for way in self.ways if way.insertion.mends(None))[:1]

    @property
    def radius(self) -> float:
        """Where it ends, m."""
        return self.arrival.radius

    @property
    def speed(self) -> float:
        """There, m/s."""
        return self.arrival.speed

    def habit(self) -> tuple[float, ...]:
        """The numbers flown by habit."""
        return self.rule.habitual(self._pad(self._first_heading()))

    def nominal(self) -> tuple[float, ...]:
        """The numbers with which tuning begins."""
        return self.rule.nominal(self._pad(self._first_heading()))

    @property
    def remark(self) -> str:
        """What else the rule says of its flights; empty where its numbers say all."""
        return self.rule.remark(self._pad(self._first_heading()))

    def check_begins(self) -> None:
        """Refuse a rule whose steering cannot begin. Raises `InputError`."""
        check_begins(self.rule, self._plain_pad(self._first_heading()))

    def along(self, first: tuple[float, ...], last: tuple[float, ...]) -> RuleFlight:
        """The same, quicker where only the rule's last number varies; see `Rule.along`."""
        pad = self._pad(self._first_heading())
        return replace(self, rule=self.rule.along(pad, first, last))

    def fly(
        self, values: tuple[float, ...], near: ClosedRuleFlight | None = None
    ) -> ClosedRuleFlight:
        """Fly with these numbers; a flight with similar ones, if given, saves some searching.

        A flight that chooses is flown as the one nearby or as usual; where that does not reach the
        orbit, by the plans for the stage in which the apoapsis does.

        Raises:
            CompiledFlightError: when they do not lead to the orbit; its kind says why.
        """
        if self.at is not None:
            closed = self.fly_beyond_edges(values, near)
            if closed.refusal is not None:
                raise closed.refusal
            return closed
        return self.choose(values, () if near is None else (near,)).best()

    def choose(
        self, values: tuple[float, ...], near: tuple[ClosedRuleFlight, ...] = ()
    ) -> Choice:
        """The plans that were tried, of a flight that chooses; as the first nearby at first.

        Raises:
            CompiledFlightError: where there is no plan, or none that the flight comes to.
        """
        if not self.ways:
            raise CompiledFlightError(self.insertion.lacks(self.vehicle, self.mission))
        choice, first = Choice(values, near), near[0] if near else None
        alike = [way for way in self.ways if first is not None and way.flew(first)]
        for way in (*alike, *self.usual):
            choice.try_by(way)
        if not choice.made:
            self._try_from(self._stage_reached(values, first), choice)
        return choice

    def _try_from(self, stage: int, choice: Choice) -> None:
        """By the plans for a stage; by others where the apoapsis passes the orbit too early.

        A stage that may drop the fairing before it is cut off burns for longer than one that keeps
        it, and air lowers an apoapsis that was beyond the orbit as the stage below burned out.
        """
        for way in choice.open_to(self.ways, stage):
            choice.try_by(way)
        late = [way for way in choice.beyond_orbit(self.ways) if way.starts_in == stage]
        if self.vehicle.fairing is not None:
            for way in late:
                choice.try_by(replace(way, keeps_fairing=True))
        if late and stage > 0:
            self._try_from(stage - 1, choice)

    def flew(self, closed: ClosedRuleFlight) -> bool:
        """Whether a flight was one by this plan and to this place."""
        return (closed.insertion, closed.arrival) == (self.insertion, self.at)

    @property
    def starts_in(self) -> int:
        """Index of the stage that burns as the apoapsis reaches the orbit."""
        return self.insertion.starts_in(self.vehicle)

    def as_flown(self, values: tuple[float, ...]) -> tuple[float, ...]:
        """The numbers that hold where the vertical rise leaves no other.

        Raises:
            CompiledFlightError: when no flight has these numbers.
        """
        pad = self._plain_pad(self._first_heading())
        rise = speed_after_rise(pad, steps_of(self.rule, values, pad))
        return self.rule.as_flown(values, rise)

    def _stage_reached(self, values: tuple[float, ...], near: ClosedRuleFlight | None) -> int:
        pad = self._plain_pad(self._first_heading() if near is None else near.heading)
        return stage_reached(pad, steps_of(self.rule, values, pad), self.radius)

    def _plain_pad(self, heading: float) -> Pad:
        """Before a flight of one burn of each stage."""
        plan = FlightPlan(inserting_stage=len(self.vehicle.stages) - 1)
        return Pad(mission=self.mission, sequence=self._sequence(plan), heading=heading)

    def fly_beyond_edges(
        self, values: tuple[float, ...], near: ClosedRuleFlight | None = None
    ) -> ClosedRuleFlight:
        """As `fly`, but what cannot be flown for a little is returned; its margins tell the little.

        Raises:
            CompiledFlightError: as `fly`.
        """
        heading = self._first_heading() if near is None else near.heading
        return self._flown(values, heading, near)

    def fly_towards(self, values: tuple[float, ...], heading: float) -> ClosedRuleFlight:
        """As `fly_beyond_edges`, the heading sought from one in rad and the insertion guessed.

        Raises:
            CompiledFlightError: as `fly`.
        """
        return self._flown(values, heading, None)

    def _flown(
        self, values: tuple[float, ...], heading: float, near: ClosedRuleFlight | None
    ) -> ClosedRuleFlight:
        """With the plan whose fairing arc is the one in which the fairing can go."""
        plans = list(self._plans())
        for plan in plans[:-1]:
            try:
                return self._planned(plan, values, self._start(plan, heading, near))
            except ArcNotEnded as endless:
                if endless.arc != plan.fairing_arc:
                    raise
        return self._planned(plans[-1], values, self._start(plans[-1], heading, near))

    def propellant_margin(self, closed: ClosedRuleFlight) -> float:
        """Propellant in kg beyond the reserve in the stage that inserts; negative: it owes some.

        What stages that stay unlit carry pays for nothing.
        """
        return self._sequence(closed.law.plan).propellant_in_tank(closed.end.mass)

    def timed(self, closed: ClosedRuleFlight) -> Mission:
        """The mission at the instant of lift-off with which a flight meets the node asked for."""
        return timed(self.mission, closed.end.state)

    def lifts_off_at(self, closed: ClosedRuleFlight) -> float | None:
        """The instant of that in s; None where it is the mission's own, or does not matter."""
        instant = self.timed(closed).lift_off_time
        return None if instant == self.mission.lift_off_time else instant

    def _plans(self) -> Iterator[FlightPlan]:
        """Plans that differ in the arc in which the fairing goes, the earliest first.

        It goes under thrust above the first stage, or on the last coast; where nothing heats it,
        as soon as the vehicle steers.
        """
        bare = self.insertion.plan(self.vehicle, None)
        if self.vehicle.fairing is None:
            yield bare
            return
        arcs = self._sequence(bare).arcs
        if self.mission.body.atmosphere is None or len(self.vehicle.stages) == 1:
            able = [arc for arc in arcs if arc.rise is None][:1]
        else:
            able = [arc for arc in arcs if arc.stage > 0 and arc.burning]
        coasts = [k for k, arc in enumerate(arcs) if arc.free_coast]
        if coasts and (bare.restarts or bare.relit or bare.cut_early):
            able = [*[arc for arc in able if arc in arcs[: coasts[-1]]], arcs[coasts[-1]]]
        for arc in able[-1:] if self.keeps_fairing else able:
            yield self.insertion.plan(self.vehicle, arc.name)

    def problem(self, plan: FlightPlan, values: tuple[float, ...]) -> InsertionProblem:
        """The numbers given, the plan's insertion open."""
        return InsertionProblem(
            vehicle=self.vehicle,
            mission=self.mission,
            rule=self.rule,
            insertion=self.insertion,
            throttling=self.throttling or within(self.mission.limits),
            plan=plan,
            sequence=self._sequence(plan),
            values=values,
            arrival=self.arrival,
            slack=self.slack,
            compiled=self._compiled,
        )

    def _planned(
        self, plan: FlightPlan, values: tuple[float, ...], start: InsertionStart
    ) -> ClosedRuleFlight:
        self.deadline.left()
        aim = self.problem(plan, values)
        sequence, found = aim.sequence, solve_insertion(aim, start)
        margin = sequence.propellant_left(found.end.mass)
        return ClosedRuleFlight(
            values=values,
            insertion=self.insertion,
            arrival=self.arrival,
            law=found.law,
            unknowns=found.unknowns,
            end=found.end,
            propellant_used=self.vehicle.propellant_mass - margin - sequence.reserve,
            debt=max(-sequence.propellant_in_tank(found.end.mass), 0.0),
            heading=found.heading,
            slope=found.slope,
            marks=found.marks,
            log=found.log,
            margins=found.margins,
        )

    def _start(
        self, plan: FlightPlan, heading: float, near: ClosedRuleFlight | None
    ) -> InsertionStart:
        """A flight with another plan tells no more than the heading."""
        if near is None or near.law.plan != plan or near.arrival != self.arrival:
            return InsertionStart(heading=heading)
        return InsertionStart(heading=near.heading, unknowns=near.unknowns, slope=near.slope)

    def _sequence(self, plan: FlightPlan) -> Sequence:
        return _sequence(self.vehicle, self.mission, plan)

    def _pad(self, heading: float) -> Pad:
        usual = next((way.insertion for way in self.usual), self.insertion)
        sequence = self._sequence(usual.plan(self.vehicle, None))
        return Pad(mission=self.mission, sequence=sequence, heading=heading)

    def _first_heading(self) -> float:
        """Rad from north: the orbit's at the site, less what the spin of the body adds to it."""
        inclination = self.mission.orbit.inclination
        if inclination is None:
            return 0.5 * pi
        latitude = self.mission.site.latitude
        across = float(np.clip(cos(inclination) / max(cos(latitude), 1e-9), -1.0, 1.0))
        north = self.speed * sqrt(1.0 - across**2)
        body = self.mission.body
        east = self.speed * across - body.rotation_rate * body.radius * cos(latitude)
        return atan2(east, north)


@lru_cache(maxsize=64)
def _sequence(vehicle: Vehicle, mission: Mission, plan: FlightPlan) -> Sequence:
    """The same sequence for the same arguments: it is asked for once a flight."""
    return sequence_of(vehicle, mission, plan)

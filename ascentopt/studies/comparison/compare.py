"""Fly every rule of thumb, by habit and tuned, into the orbit of the optimum."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from logging import getLogger
from typing import Any, Protocol

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.limit_check import broken_limits
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort, optimum
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.rules.catalogue import insertions, rules
from ascentopt.rules.evaluate.check_rule import check_rule
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.laws.rule import Rule
from ascentopt.rules.tune.merit import cost_of
from ascentopt.rules.tune.tuning import led, tune
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.studies.comparison.plane import plane_told
from ascentopt.tables import in_a_line
from ascentopt.validation import instance

LOG = getLogger("ascentopt.studies")


@checked
@dataclass(frozen=True, eq=False, kw_only=True)
class Catalogue:
    """Rules for the dense air, and insertions; each is flown with each. Raises `InputError`.

    Args:
        rules: one at least, ours and one's own; a name stands for one of them only.
        insertions: one at least.
    """

    rules: tuple[Rule, ...]
    insertions: tuple[Insertion, ...] = field(default_factory=insertions)

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        for rule in self.rules:
            check_rule(rule)
        for insertion in self.insertions:
            fix = "Give instances, as ao.Circularise()."
            instance("Catalogue", "insertions", insertion, (Insertion,), fix)
        for what, chosen in (("rules", self.rules), ("insertions", self.insertions)):
            names = [one.name for one in chosen]
            if not names or len(set(names)) < len(names):
                raise InputError(
                    f"Catalogue: {what} are called {names}; there must be one at least, and no two "
                    "of one name. Rename or leave out."
                )


@checked
def compare(
    vehicle: Vehicle,
    mission: Mission,
    *,
    ascent: Ascent | None = None,
    catalogue: Catalogue | None = None,
    progress: Progress[Comparison] | None = None,
    time_limit: float | None = None,
) -> Comparison:
    """Set the optimum beside the rules of thumb.

    Args:
        vehicle: to be flown.
        mission: to a circle or an ellipse; a rule lifts off when that leads to the node, if one is
            given.
        ascent: the optimum of just this vehicle and mission if it is known already, its instant of
            lift-off aside where that was free; otherwise it is solved for.
        catalogue: rules and insertions; by default those of `rules.catalogue`.
        progress: is given a `Step` for each rule with an insertion; its ``so_far`` is the
            comparison with those flown.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: for an orbit that rules of thumb cannot end in, or a rule of one's own whose
            steering is no direction, before anything is solved or flown where that can be told.
        InfeasibleAscent: when not even the optimum reaches the orbit.
        Interrupted: by the keyboard; `best` is the comparison with the rules flown so far.
        OutOfTime: likewise, when the time is up.
    """
    watch = Watch("compare", LOG, progress, time_limit)
    comparing = Comparing(watch, vehicle, mission, ascent)
    with watch.carrying("comparison", comparing.so_far):
        return comparing.with_rules(catalogue)


class Comparing:
    """A comparison under way.

    Attributes:
        ascent: the optimum; None until it is known.
        outcomes: of the rules flown so far.
    """

    def __init__(
        self, watch: Watch[Any], vehicle: Vehicle, mission: Mission, ascent: Ascent | None
    ) -> None:
        self.ascent = ascent
        self.outcomes: list[RuleOutcome] = []
        self._watch, self._vehicle, self._mission = watch, vehicle, mission
        self._solving = watch.inside("optimize", getLogger("ascentopt.optimal"))

    def so_far(self) -> Comparison | None:
        """With the rules flown so far; None where not even an unfinished ascent is known."""
        ascent = self.ascent or self._solving.so_far()
        return None if ascent is None else _compared(ascent, self.outcomes)

    def with_rules(self, catalogue: Catalogue | None) -> Comparison:
        """With all rules of a catalogue; see `compare`."""
        flights = self._flights(catalogue or Catalogue(rules=rules(), insertions=insertions()))
        if self.ascent is not None:
            self.ascent.check_belongs("compare", self._vehicle, self._mission)
        self._watch.total = len(flights)
        best = self.ascent = self.ascent or self._optimum()
        if best.plan.unlit:
            flights = [replace(flight, vehicle=best.flown_vehicle) for flight in flights]
        for flight in flights:
            self._fly(flight, best)
        return _compared(best, self.outcomes)

    def _fly(self, flight: RuleFlight, best: Ascent) -> None:
        self._watch.begins(f"{flight.rule.name}, {flight.insertion.name}")
        new = len(self.outcomes)
        for outcome in rule_outcomes(flight, best):
            self.outcomes.append(outcome)
        told = (f"{one.name}: {_cost_in_words(one)}" for one in self.outcomes[new:])
        self._watch.finishes("; ".join(told))

    def _optimum(self) -> Ascent:
        return optimum(self._vehicle, self._mission, Effort(), watch=self._solving).ascent

    def _flights(self, chosen: Catalogue) -> list[RuleFlight]:
        """A flight of each rule with each insertion. Raises `InputError` as `compare`."""
        flights = [
            RuleFlight(
                vehicle=self._vehicle,
                mission=self._mission,
                rule=rule,
                insertion=insertion,
                deadline=self._watch.deadline,
            )
            for rule in chosen.rules
            for insertion in chosen.insertions
        ]
        for flight in flights:
            flight.check_begins()
        return flights


def _cost_in_words(outcome: RuleOutcome) -> str:
    return outcome.remark if outcome.penalty is None else f"{outcome.penalty:+.2f} kg"


def _compared(ascent: Ascent, outcomes: list[RuleOutcome]) -> Comparison:
    ranked = tuple(sorted(outcomes, key=_rank))
    return Comparison(ascent=_beside(ascent, outcomes), outcomes=ranked)


def _beside(ascent: Ascent, outcomes: list[RuleOutcome]) -> Ascent:
    """The ascent, its certificate completed by what the rules that keep the limits cost."""
    costs = [one.penalty for one in outcomes if one.penalty is not None and not one.broken]
    if not costs:
        return ascent
    gain = -min(costs) / ascent.propellant_used
    return replace(ascent, certificate=replace(ascent.certificate, rule_gain=gain))


def _rank(outcome: RuleOutcome) -> float:
    return np.inf if outcome.propellant_used is None else outcome.propellant_used


class Reference(Protocol):
    """What rules are measured by: an `Ascent`, or the numbers of one."""

    @property
    def propellant_used(self) -> float:
        """Kilograms."""

    @property
    def propellant_margin(self) -> float:
        """Kilograms that are left beyond the reserve."""


def rule_outcomes(flight: RuleFlight, ascent: Reference) -> Iterator[RuleOutcome]:
    """By habit where the rule has one, then tuned, which is no worse than the habit."""
    lacks = flight.insertion.lacks(flight.vehicle, flight.mission)
    if lacks:
        yield _without(flight, None, lacks, tuned=False)
        return
    try:
        values = flight.habit()
    except CompiledFlightError as failure:
        yield _without(flight, None, str(failure), tuned=False)
        return
    found = tune(flight)
    best = found.best
    if flight.rule.has_habit:
        try:
            habitual = _habitual(flight, values, found.best)
            yield _judged(flight, habitual, ascent, tuned=False)
            best = _cheaper(flight, best, habitual)
        except CompiledFlightError as failure:
            yield _without(flight, values, str(failure), tuned=False)
    if best is None:
        yield _without(flight, None, found.why, tuned=True)
    else:
        yield _judged(flight, best, ascent, tuned=True)


def _cheaper(
    flight: RuleFlight, tuned: ClosedRuleFlight | None, habitual: ClosedRuleFlight
) -> ClosedRuleFlight:
    """The flight that costs less, limits kept where they can be.

    A habit that is led to from the tuned flight may lie in a valley that tuning has not seen.
    """
    known = [one for one in (tuned, habitual) if one is not None]
    return min(known, key=lambda one: (one.debt > 0.0, cost_of(flight, one)))


def _habitual(
    flight: RuleFlight, values: tuple[float, ...], best: ClosedRuleFlight | None
) -> ClosedRuleFlight:
    """By itself or, where its insertion is not found, led there from the tuned flight."""
    try:
        return flight.fly(values)
    except CompiledFlightError as failure:
        if best is None:
            raise
        try:
            return led(flight, values, best)
        except CompiledFlightError:
            raise failure from None  # it names the flight that was asked for


def _without(
    flight: RuleFlight, values: tuple[float, ...] | None, remark: str, *, tuned: bool
) -> RuleOutcome:
    """An outcome without a flight to the orbit."""
    opened = flight.rule.open
    return RuleOutcome(
        rule=flight.rule.name,
        insertion=flight.insertion.name,
        tuned=tuned,
        parameters=tuple(o.valued(v) for o, v in zip(opened, values or (), strict=False)),
        flight=None,
        propellant_used=None,
        penalty=None,
        penalty_of_margin=None,
        peak_dynamic_pressure=None,
        peak_q_alpha=None,
        remark=remark,
    )


def _judged(
    flight: RuleFlight, closed: ClosedRuleFlight, ascent: Reference, *, tuned: bool
) -> RuleOutcome:
    """What the independent simulator makes of it."""
    told = _told(flight, closed)
    bare = _without(flight, closed.values, told, tuned=tuned)
    if closed.debt > 0.0:
        return replace(bare, remark=f"{closed.debt:.0f} kg of propellant are missing")
    try:
        flown = fly(flight.vehicle, flight.timed(closed), closed.law)
    except FlightError as failure:
        return replace(bare, remark=str(failure))
    used = closed.propellant_used - float(flown.final_state[6] - closed.end.mass)
    penalty = used - ascent.propellant_used
    values = flight.rule.as_flown(closed.values, _rise_speed(flown))
    return replace(
        _without(flight, values, told, tuned=tuned),
        flight=flown,
        law=closed.law,
        propellant_used=used,
        penalty=penalty,
        penalty_of_margin=penalty / ascent.propellant_margin if ascent.propellant_margin else None,
        peak_dynamic_pressure=_peak(flown, "dynamic_pressure"),
        peak_q_alpha=_peak(flown, "q_alpha"),
        broken=tuple(broken_limits(flown, flight.mission.limits, flight.vehicle.max_heating)),
    )


def _told(flight: RuleFlight, closed: ClosedRuleFlight) -> str:
    """Its rule, plane, insertion and lift-off, where they are not said already."""
    instant = flight.lifts_off_at(closed)
    waits = "" if instant is None else f"lifts off at {instant:.1f} s"
    insertion, plane = closed.insertion.remark(flight.vehicle), plane_told(flight, closed)
    return "; ".join(filter(None, (flight.remark, plane, insertion, waits)))


def _rise_speed(flight: Flight) -> float:
    """Speed in the air in m/s at the end of the vertical rise; zero without one."""
    ends = [event.time for event in flight.events if event.name == "pitch-over"]
    return float(flight.trajectory.at(ends[0]).air_speed) if ends else 0.0


def _peak(flight: Flight, name: str) -> float:
    column = np.asarray(getattr(flight.trajectory, name))
    return float(np.nanmax(column)) if np.any(np.isfinite(column)) else 0.0

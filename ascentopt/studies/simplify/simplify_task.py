"""What of an optimal ascent a simpler programme keeps, and how it is sought and flown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.limit_check import PAYLOAD_HEATING, broken_limits
from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.simulation.simulate import fly
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Deadline, Watch
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.insertion.timed_coasts import Coasting
from ascentopt.rules.laws.knot_rule import CoastAndLevel, CoastAndPitch, KnotRule, ShiftedKnots
from ascentopt.rules.tune.merit import cost_of
from ascentopt.steering.knots import Knots
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.programme import Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.studies.simplify.knot_descent import knots_flown
from ascentopt.studies.simplify.knot_fit import PitchCurve, pitch_curve
from ascentopt.studies.simplify.knot_search import SLACK, KnotSearch
from ascentopt.studies.simplify.open_flight import lowest
from ascentopt.studies.simplify.simpler import SimplerProgramme
from ascentopt.studies.simplify.throttle_fit import throttle_programme
from ascentopt.units import deg

_NO_BURN = 0.5  # s; a last stage that burns no longer before it coasts does not burn

_COOLINGS = 2
"""Times that a programme is sought again since its payload got hotter than was reckoned."""

_WARM = 0.5
"""Part of the limit on heating up to which a coast that comes lower than was reckoned explains an
excess; beyond, the flight has no coast like the optimum's."""

_PLACES = 16
"""Between which the place of a further knot is chosen: half as many as there ever are knots."""

_LEANING = 80.0 * deg
"""Pitch below which the optimum has a heading that means something."""

_RAISED = tuple(by * deg for by in (0.0, 2.0, 5.0, 10.0, -2.0, -5.0))
"""By how much fitted programmes are raised after the first knot: with few they sink, or soar."""


@dataclass(frozen=True, eq=False, kw_only=True)
class SimplifyTask:
    """What stays the same for every number of knots."""

    ascent: Ascent
    curve: PitchCurve
    insertion: Insertion
    fixed: int
    throttling: ThrottleProgramme | None
    heading: float | None
    heated: float
    watch: Watch[Any]
    begun: list[KnotSearch] = field(default_factory=list)

    @property
    def _stops(self) -> tuple[float, ...]:
        """Corners of the throttle: flights begin a new phase there, and a new step with it."""
        throttling = self.throttling
        alike = throttling is not None and throttling.against is self.curve.against
        return throttling.abscissae if throttling is not None and alike else ()

    def searches(self, count: int, before: KnotSearch | None) -> Iterator[KnotSearch]:
        """With so many knots: from the best with fewer, and from those fitted.

        These may lie in another valley.
        """
        wider = None if before is None else before.widened(self.curve.places(_PLACES + count))
        if wider is not None and before is not None:
            search = replace(self._search(wider), heated=before.heated)
            search.improve([wider], before.unshifted)
            yield search
        yield self.searched(count)

    def searched(self, count: int) -> KnotSearch:
        """From so many knots fitted to the optimum."""
        fitted = self.curve.fitted(count)
        search = self._search(fitted)
        search.improve(_raised(fitted, by) for by in _RAISED)
        return search

    def _search(self, knots: Knots) -> KnotSearch:
        self.watch.begins(f"{len(knots.abscissae)} knots")
        flight = RuleFlight(
            vehicle=self.ascent.flown_vehicle,
            mission=self.ascent.mission,
            rule=KnotRule(start=replace(knots, stops=self._stops)),
            insertion=self.insertion,
            throttling=self.throttling,
            slack=SLACK,
            deadline=self.watch.deadline,
        )
        search = KnotSearch(
            flight=flight,
            curve=self.curve,
            fixed=self.fixed,
            heading=self.heading,
            heated=self.heated,
        )
        self.begun.append(search)
        return search

    def so_far(self) -> SimplerProgramme | None:
        """The best programme that the searches have flown, though none has settled yet.

        A stop leaves no time to look for it again: it may break limits, and says so.
        """
        flown = [(one.flight, closed) for one in self.begun for closed in one.closed]
        best = min(flown, key=lambda pair: (pair[1].debt > 0.0, cost_of(*pair)), default=None)
        if best is None:
            return None
        found = self._as_flown(replace(best[0], deadline=Deadline()), best[1])
        return found[0] if found else None

    def flown(self, search: KnotSearch) -> list[SimplerProgramme]:
        """What the independent simulator makes of it; nothing where it does not arrive.

        Where the payload gets hotter than the search reckoned, it is sought again with that.
        """
        found = self._flown_once(search)
        for _ in range(_COOLINGS):
            hot = [e for one in found for e in one.broken if e.name == PAYLOAD_HEATING]
            if not hot or hot[0].share > _WARM:
                break
            search.heated *= 1.0 + hot[0].share
            search.improve_again()
            found = self._flown_once(search)
        return found

    def _flown_once(self, search: KnotSearch) -> list[SimplerProgramme]:
        return [] if search.best is None else self._as_flown(search.flight, search.best)

    def _as_flown(self, flight: RuleFlight, closed: ClosedRuleFlight) -> list[SimplerProgramme]:
        """A flight, closed exactly and flown by the independent simulator."""
        try:
            closed = replace(flight, slack=1.0).fly(closed.values, closed)
        except CompiledFlightError:
            return []
        knots = knots_flown(flight, closed, self.fixed)
        if closed.debt > 0.0:
            return []
        try:
            flown = fly(flight.vehicle, flight.timed(closed), closed.law)
        except FlightError:
            return []
        used = closed.propellant_used - float(flown.final_state[6] - closed.end.mass)
        programme = SimplerProgramme(
            law=_as_able(closed.law, self.ascent),
            knots=knots.pairs,
            against=knots.against,
            flight=flown,
            propellant_used=used,
            penalty=used - self.ascent.propellant_used,
            lift_off_time=flight.lifts_off_at(closed),
            broken=tuple(broken_limits(flown, flight.mission.limits, flight.vehicle.max_heating)),
        )
        return [programme]


def task_of(ascent: Ascent, against: Against, watch: Watch[Any]) -> SimplifyTask:
    """The task of simplifying an ascent; raises `InputError` for one that cannot be."""
    plan = ascent.plan
    if plan.restarts > 1:
        raise InputError(
            f"simplify: the plan is {plan}; there may be one coast at most between burns of the "
            "stage that inserts. Simplify another ascent."
        )
    arcs = sequence_of(ascent.vehicle, ascent.mission, plan).arcs
    burns = [arc for arc in arcs if arc.burning and arc.rise is None]
    if plan.restarts == 1:
        burns = burns[:-1]
        coasts_first = _length(ascent, burns[-1].name) < _NO_BURN
        insertion: Insertion = CoastAndPitch() if coasts_first else CoastAndLevel()
    else:
        insertion = ShiftedKnots(burn=_length(ascent, burns[-1].name))
    if plan.coast_before:
        waits = [arc for arc in arcs if arc.name in _waits(ascent)]
        insertion = Coasting(
            after=insertion,
            stages=plan.coast_before,
            coasts=tuple((arc.name, _length(ascent, arc.name)) for arc in waits),
        )
    curve = pitch_curve(ascent, against, tuple(arc.name for arc in burns))
    return SimplifyTask(
        ascent=ascent,
        curve=curve,
        insertion=insertion,
        fixed=0 if plan.restarts else 2,
        throttling=throttle_programme(ascent, against),
        heading=_heading(ascent),
        heated=_heated(ascent),
        watch=watch,
    )


def _heated(ascent: Ascent) -> float:
    """How many times hotter the optimum's coasts get than where a Kepler orbit comes lowest.

    An oblate body pulls a coast lower, or its ground lies lower there; a programme's coast is like
    the optimum's.
    """
    around, ratios = Surroundings(ascent.mission.body), [1.0]
    for arc in ascent.trajectory.arcs:
        start = arc.states[0]
        if arc.directions.any() or float(start[:3] @ start[3:6]) >= 0.0:
            continue
        expected = around.heating(lowest(ascent.mission.body, start))
        if expected > 0.0:
            ratios.append(float(np.nanmax(Readings.of(arc.readings).heating)) / expected)
    return ratios[-1]


def _heading(ascent: Ascent) -> float | None:
    """Towards which the optimum tips over, rad from north; None where any inclination will do."""
    if ascent.mission.orbit.inclination is None:
        return None
    track = ascent.trajectory
    leaning = np.flatnonzero(track.pitch < _LEANING)
    return float(track.heading[leaning[0]]) if len(leaning) else None


def _as_able(law: Programme, ascent: Ascent) -> Programme:
    """The law, without a throttle where no engine that burns can be throttled."""
    arcs = sequence_of(ascent.flown_vehicle, ascent.mission, law.plan).arcs
    able = any(arc.kind.throttled and arc.rise is None for arc in arcs)
    return law if able else replace(law, throttling=None)


def _waits(ascent: Ascent) -> list[str]:
    """Names of the coasts before stages are lit."""
    stages = ascent.vehicle.stages
    return [f"coast to {stages[index].name}" for index in ascent.plan.coast_before]


def _length(ascent: Ascent, name: str) -> float:
    """Seconds that an arc lasts."""
    return sum(float(a.times[-1] - a.times[0]) for a in ascent.trajectory.arcs if a.name == name)


def _raised(knots: Knots, by: float) -> Knots:
    first, *others = knots.pitches
    return replace(knots, pitches=(first, *(min(p + by, 90.0 * deg) for p in others)))

"""Fly N draws through the arcs of a plan, side by side."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.arc_kind import Guidance as Who
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.flights.endings import Ending, Endings
from ascentopt.guided.flights.fleet import Fleet, Rows, Stepper
from ascentopt.guided.flights.guide import Guide
from ascentopt.guided.flights.tracks import Tracking
from ascentopt.guided.guidance.leg import Leg
from ascentopt.guided.guidance.prepared import Prepared
from ascentopt.guided.plan.parts import Parts
from ascentopt.guided.plan.planned_arc import EndOf, PlannedArc
from ascentopt.guided.steps.aims import Aim, Guided
from ascentopt.guided.steps.events import first_length
from ascentopt.typing import Floats

STEP = 0.5
"""s in air and while a table steers: a Runge-Kutta step of that keeps a flight through the air to
decimetres of the reference (benchmarks/decisions)."""

COAST = 20.0
"""s above the air: an orbit of 90 minutes is kept to centimetres in a revolution."""

AIRY = 2.0
"""s on coasts below the ceiling of the air."""

GIVE = 1.0
"""m below the pad that count as having fallen."""


class Flying:
    """One call of `fly`; not to be shared by threads."""

    def __init__(self, plan: Prepared, deviations: Deviations, *, track: bool) -> None:
        self.plan, self.deviations = plan, deviations
        self.parts = Parts.of(plan.vehicle, plan.mission, plan.plan, deviations)
        self.sides = self.parts.sides()
        self.endings = Endings(plan, self.parts, self.sides)
        start = plan.sequence.initial_state()
        self.fleet = Fleet.on_pad(start, self.parts.added())
        count = len(deviations)
        self.arc_ends = np.full((count, len(plan.arcs)), np.nan)
        self.handover = np.full(count, np.nan)
        self.dry = np.zeros(count, dtype=bool)
        self.fell = np.zeros(count, dtype=bool)
        self.wanted = np.zeros(count)
        self.burned = np.zeros(count)
        self.tracking = Tracking(count) if track else None
        self.platform = self._platform(start)
        pad = float(plan.arcs[0].readings.altitude[0])
        self.fleet.reading[:, 0] = pad
        self.ground = pad - GIVE

    def fly(self, last: int | None = None) -> None:
        """All arcs, or those up to one; what became of the flights is in the attributes."""
        self._note(self.fleet.under_way)
        for k, planned in enumerate(self.plan.arcs[: None if last is None else last + 1]):
            self._light(k)
            self._fly_arc(k, planned)
            self._joint(k, planned)

    def _platform(self, start: Floats) -> Floats:
        """(N, 3) rotation of the platform, inertial."""
        frame = self._frame(start)
        return np.asarray(self.deviations.alignment @ frame)

    def _frame(self, start: Floats) -> Floats:
        """(3, 3) rows east, north and up of the pad."""
        found = np.array(Surroundings(self.plan.mission.body).at(start))
        return np.stack([found[3:6], found[6:9], found[:3]])

    # What an arc begins and ends with.

    def _light(self, k: int) -> None:
        """Wait for a late ignition, and fill the tank that is lit for the first time."""
        arcs, planned = self.plan.arcs, self.plan.arcs[k]
        stage = planned.arc.stage
        if not planned.arc.burning:
            return
        fresh = k == 0 or not any(one.arc.burning and one.arc.stage == stage for one in arcs[:k])
        if not fresh:
            return
        self.fleet.state[:, 7] = 0.0
        self.fleet.thrust_ratio[:] = 1.0
        if k:
            self._hold(k, self.deviations.ignition_delay[:, stage])

    def _joint(self, k: int, planned: PlannedArc) -> None:
        joint, fleet = planned.arc.joint, self.fleet
        rows = fleet.under_way
        self.arc_ends[rows, k] = fleet.time[rows]
        if k == self.plan.cut_off:
            self.burned = fleet.state[:, 7].copy()
        if joint.mass_after is not None:
            self._hold(k, self.deviations.separation_delay[:, planned.arc.stage])
            above = self.parts.added_above(planned.arc.stage)
            fleet.state[rows, 6] = joint.mass_after + above[rows]
        elif joint.fairing:
            fleet.state[rows, 6] -= joint.mass_drop or 0.0
            fleet.bare = True
        elif joint.mass_drop:
            for g in self.endings.shed(k):
                fleet.state[rows, 6] -= self.sides[g].drop[rows]
        if k + 1 < len(self.plan.arcs):
            fleet.believed[:] = float(self.plan.arcs[k + 1].start[6])

    def _hold(self, k: int, seconds: Floats) -> None:
        """Coast for so many seconds, each flight its own, as heavy as it is."""
        planned = self.plan.arcs[k]
        rows = self.fleet.under_way
        if not len(rows) or not np.any(seconds[rows] > 0.0):
            return
        fixed = len(planned.kind.numbers) - len(planned.kind.side_curves)
        kind = replace(
            planned.kind, guidance=Who.COAST, throttled=False, core_curve=None,
            core_clock_starts=False, core_by_mass=False, side_curves=(),
        )  # fmt: skip
        arc = replace(planned.arc, numbers=planned.arc.numbers[:fixed], kind=kind)
        coast = PlannedArc(arc, planned.flown, EndOf.WAIT, kind)
        wait = Ending(limit=lambda fleet, rows, elapsed: seconds[rows] - elapsed)
        self._until(self._stepper(coast, None), rows, wait, None)

    # Flying on.

    def _fly_arc(self, k: int, planned: PlannedArc) -> None:
        place = self.plan.leg_of(k)
        leg = None if place is None else self.plan.legs[place]
        ending = self.endings.of(k)
        rows = self.fleet.under_way
        if not planned.arc.burning:
            self._coast(k, planned, rows, ending)
            return
        if leg is None or (k == leg.first and leg.since > 0.0):
            by_table = ending if leg is None else ending.until(leg.since)
            self._until(self._stepper(planned, self.plan.aims[k]), rows, by_table, None)
            rows = self.fleet.under_way
        if leg is not None:
            self._guided(k, planned, leg, rows, ending)
        self._end_burn(k, planned, leg)

    def _coast(self, k: int, planned: PlannedArc, rows: Rows, ending: Ending) -> None:
        before = self.fleet.time.copy()
        self._until(self._stepper(planned, None), rows, ending, None)
        if self.guide is not None:
            self.guide.coasted(rows, self.fleet.time[rows] - before[rows])

    guide: Guide | None = None

    def _guided(self, k: int, planned: PlannedArc, leg: Leg, rows: Rows, ending: Ending) -> None:
        guide = self.guide
        if guide is None or k == leg.first:
            guide = self.guide = Guide(self.plan, leg, len(self.deviations))
            guide.begin(rows, self.fleet)
            waiting = rows[np.isnan(self.handover[rows])]
            self.handover[waiting] = self.fleet.time[waiting]
        guide.arc = k
        since = leg.since if k == leg.first else 0.0
        self._until(self._stepper(planned, Guided()), rows, guide.cut_off(ending), guide, since)

    def _end_burn(self, k: int, planned: PlannedArc, leg: Leg | None) -> None:
        """Who ran dry before the orbit aimed at is over, if it is the inserting stage."""
        if planned.ending is not EndOf.STATE:
            return
        rows = self.fleet.under_way
        load = self.endings.burnable(planned.arc.stage)[rows]
        dry = rows[self.fleet.state[rows, 7] >= load * (1.0 - 1e-9)]
        if planned.arc.stage != self.plan.plan.inserting_stage or planned.solid:
            return
        self.dry[dry] = True
        if self.guide is not None and leg is not None:
            self.wanted[dry] = self.guide.missing(dry, self.fleet)
        self.wanted[dry] += self._later_speed(k)
        self.fleet.alive[dry] = False
        self.guide = None

    def _later_speed(self, k: int) -> float:
        """m/s that the plan burns after an arc."""
        total = 0.0
        for one in self.plan.arcs[k + 1 :]:
            if one.arc.burning:
                engine = self.parts.vehicle.stages[one.arc.stage].engine
                speed = engine.mean_thrust / engine.mass_flow
                total += speed * float(np.log(one.start[6] / one.end[6]))
        return total

    def _stepper(self, planned: PlannedArc, aim: Aim | None) -> Stepper:
        numbers = self.parts.arc(planned)
        return Stepper(planned, aim, numbers, self.sides, self.deviations, self.platform)

    def _until(
        self,
        stepper: Stepper,
        rows: Rows,
        ending: Ending,
        guide: Guide | None,
        since: float = 0.0,
    ) -> None:
        """Step the flights of `rows` until each is at its ending, or on the ground."""
        fleet = self.fleet
        elapsed = np.zeros(len(fleet.time))
        elapsed[rows] = since
        over = ending.over(fleet, rows, elapsed[rows])
        rows = rows[~over]
        while len(rows):
            aim = None if guide is None else guide.solve(rows, fleet, elapsed[rows])
            lengths, last = ending.lengths(
                fleet, rows, elapsed[rows], self._step(rows, guide, stepper)
            )
            found = stepper(fleet, rows, elapsed[rows], lengths, aim)
            met = self._shorten(stepper, ending, rows, elapsed, lengths, found, aim)
            if guide is not None:
                guide.stepped(rows, lengths, found, fleet, elapsed[rows] + lengths)
            fleet.take(rows, lengths, found)
            elapsed[rows] += lengths
            self._note(rows)
            fallen = found[:, 8] < self.ground
            self.fell[rows[fallen]] = True
            fleet.alive[rows[fallen]] = False
            rows = rows[~(met | last | fallen)]

    def _shorten(
        self,
        stepper: Stepper,
        ending: Ending,
        rows: Rows,
        elapsed: Floats,
        lengths: Floats,
        found: Floats,
        aim: Floats | None,
    ) -> np.ndarray:
        """Which flights met their ending within the step; these are stepped to it alone."""
        fleet, passing = self.fleet, ending.passing
        if passing is None:
            return np.zeros(len(rows), dtype=bool)
        begun = np.concatenate([fleet.state[rows], fleet.reading[rows]], axis=1)
        before = passing(rows, begun, elapsed[rows])
        after = passing(rows, found, elapsed[rows] + lengths)
        met = (after >= 0.0) & (before < 0.0)
        if not np.any(met):
            return met
        some = rows[met]
        own = None if aim is None else aim[met]

        def stepped(tried: Floats) -> Floats:
            return stepper(fleet, some, elapsed[some], tried, own)

        def value(tried: Floats) -> Floats:
            return passing(some, stepped(tried), elapsed[some] + tried)

        lengths[met] = first_length(value, before[met], after[met], lengths[met])
        found[met] = stepped(lengths[met])
        return met

    def _step(self, rows: Rows, guide: Guide | None, stepper: Stepper) -> Floats:
        """(n,) s of the next step."""
        if guide is not None:
            return guide.cycle(rows)
        if stepper.coasts:
            return np.where(self.fleet.reading[rows, 0] < self.ceiling, AIRY, COAST)
        return np.full(len(rows), STEP)

    def _note(self, rows: Rows) -> None:
        if self.tracking is not None:
            self.tracking.add(self.fleet, rows)

    @cached_property
    def ceiling(self) -> float:
        """Altitude in m above which coasts take long steps."""
        air = self.plan.mission.body.atmosphere
        return -np.inf if air is None else air.ceiling

"""Guidance of N flights through a leg: what it measures, what it solves, what it has them do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.guided.flights.endings import Ending
from ascentopt.guided.flights.fleet import Fleet, Rows
from ascentopt.guided.guidance.explicit import Aimed, Phases, Predictor, fastest_turn
from ascentopt.guided.guidance.leg import Leg
from ascentopt.guided.guidance.prepared import STEPS, Prepared
from ascentopt.guided.steps.rows import dot, unit
from ascentopt.guided.steps.step import STATE
from ascentopt.typing import Floats

FIRST = 4
"""Corrections in the first cycle of a leg: from the planned guess to where one is enough."""

FIRST_TO_APOAPSIS = 12
"""The same where an apoapsis is aimed at: the burn may turn out to be none at all, which takes as
many to be within a hundredth of, each of them changing it by three tenths at most."""

NEAR = 3.0
"""Cycles before the cut-off from when on the orbit is watched."""

TURN = 1.0
"""rad that the thrust may turn by in a cycle where the mission sets no limit: what turns faster is
over before guidance looks again, and asked for only by places that are out of reach."""

LONGER = 2.0
"""Times the planned burn: a way to the place that takes more is no way that anyone would fly."""

ASTRAY = 0.5
"""rad between the thrust and the velocity that is missing in the last seconds: gravity's share in
them is smaller."""

AXIAL = STATE + 3


class Guide:
    """Of one leg; not to be shared by threads.

    It knows place and velocity exactly, and the acceleration along the axis as an accelerometer
    reads it; the exhaust speed, the masses of stages and the lengths of coasts it takes as planned.
    What it measures says how much thrust there is to a kilogram, and so how fast that is burned.
    """

    def __init__(self, plan: Prepared, leg: Leg, count: int) -> None:
        self.leg, self.guidance = leg, plan.guidance
        self.arc = leg.first
        self._predictor = Predictor(plan.mission.body, leg.target, STEPS)
        self._aimed = Aimed(np.zeros((count, 3)), np.zeros((count, 3)), np.zeros(count))
        self._fresh = np.ones(count, dtype=bool)
        self._throttle = np.ones(count)
        self._bearable = plan.mission.limits.axial_acceleration
        self._fastest = plan.mission.limits.pitch_rate or TURN / plan.guidance.cycle

    def begin(self, rows: Rows, fleet: Fleet) -> None:
        """Aim as planned, and believe in the mass as planned."""
        fleet.believed[rows] = self.leg.planned_mass
        own = self.leg.begin(fleet.state[rows])
        self._keep(rows, own)

    def _keep(self, rows: Rows, own: Aimed) -> None:
        self._aimed.p[rows], self._aimed.rate[rows], self._aimed.left[rows] = (
            own.p, own.rate, own.left
        )  # fmt: skip

    @property
    def _last(self) -> bool:
        return self.arc == self.leg.last

    def cycle(self, rows: Rows) -> Floats:
        """(n,) s until the next solution."""
        far = (self._aimed.left[rows] > self.guidance.far) | (not self._last)
        return np.where(far, 2.0, 1.0) * self.guidance.cycle

    def solve(self, rows: Rows, fleet: Fleet, elapsed: Floats) -> Floats:
        """(n, 7) where to point until the next solution: p, its rate and the throttle.

        `elapsed` (n,) is the time into the arc, s.
        """
        phases = self._phases(rows, fleet, elapsed)
        place = self.leg.target.is_place and self._last
        late = place & (self._aimed.left[rows] < self.guidance.place)
        for group, velocity in ((~late, False), (late, True)):
            if np.any(group):
                self._correct(rows[group], fleet, phases.of(group), velocity=velocity)
        if np.any(late):
            self._lead_back(rows[late], fleet)
        self._fresh[rows] = False
        own = self._aimed
        self._throttle[rows] = self._opened(rows, fleet, elapsed)
        throttle = self._throttle[rows, None]
        return np.concatenate([own.p[rows], own.rate[rows], throttle], axis=1)

    def _opened(self, rows: Rows, fleet: Fleet, elapsed: Floats) -> Floats:
        """(n,) throttle: as planned, and no more than the limit on acceleration bears."""
        planned = self.leg.arcs[self.arc]
        if not (planned.kind.throttled or planned.solid):
            return np.ones(len(rows))
        throttle = self.leg.throttle(self.arc, elapsed + 0.5 * self.cycle(rows))
        if planned.solid:
            return throttle
        if self._bearable is not None:
            full = fleet.thrust_ratio[rows] * self.leg.power(self.arc).thrust
            throttle = np.minimum(throttle, self._bearable * fleet.believed[rows] / full)
        return np.asarray(np.clip(throttle, planned.arc.min_throttle, 1.0))

    def _phases(self, rows: Rows, fleet: Fleet, elapsed: Floats) -> Phases:
        ratio, mass = fleet.thrust_ratio[rows], fleet.believed[rows]
        return self.leg.phases(self.arc, ratio, mass, elapsed)

    def _correct(self, rows: Rows, fleet: Fleet, phases: Phases, *, velocity: bool) -> None:
        """A correction for each flight; some for those that have had none, and none at the end.

        Where no burn is left nothing that is aimed at changes its end.
        """
        left, cycle = self._aimed.left[rows], self.guidance.cycle
        place = self.leg.target.is_place
        close = place & self._last & (np.abs(left) < cycle) & ~self._fresh[rows]
        for again in range(FIRST if place else FIRST_TO_APOAPSIS):
            burns = self._aimed.left[rows] > 0.0
            chosen = burns & ~close & (self._fresh[rows] | (again == 0))
            if not np.any(chosen):
                return
            some = rows[chosen]
            before, left_over = self._aimed.rows(some), phases.of(chosen)
            own = self._predictor.correct(fleet.state[some], before, left_over, velocity=velocity)
            wild = (fastest_turn(own) > self._fastest) | (own.left > LONGER * self.leg.burn)
            if place and not velocity and np.any(wild):
                self._correct_velocity(some[wild], fleet, before.rows(wild), left_over.of(wild))
                some, own = some[~wild], own.rows(~wild)
            self._keep(some, own)

    def _correct_velocity(self, rows: Rows, fleet: Fleet, before: Aimed, phases: Phases) -> None:
        """Where the place asks for turns or burns that nobody would fly, it is not steered to."""
        self._keep(rows, self._predictor.correct(fleet.state[rows], before, phases, velocity=True))

    def _lead_back(self, rows: Rows, fleet: Fleet) -> None:
        """Who points far from the velocity that is missing, so late, turns to it at once.

        A vector that was to turn by more than a right angle for a place out of reach has turned
        too far; slopes there lead on and not back.
        """
        ratio, mass = fleet.thrust_ratio[rows], fleet.believed[rows]
        straight = self.leg.along_velocity(fleet.state[rows], ratio, mass)
        p = unit(self._aimed.p[rows])
        astray = (dot(p, straight.p) < np.cos(ASTRAY)) & (straight.left >= self.guidance.cycle)
        self._keep(rows[astray], straight.rows(astray))

    def stepped(
        self, rows: Rows, lengths: Floats, found: Floats, fleet: Fleet, elapsed: Floats
    ) -> None:
        """What was aimed at goes on; what was measured tells the thrust and what is burned.

        `elapsed` (n,) is the time into the arc at the end of the step, s, where it is measured.
        """
        own, power = self._aimed, self.leg.power(self.arc)
        own.p[rows] += lengths[:, None] * own.rate[rows]
        if self._last:
            own.left[rows] -= lengths
        opened = self._throttle[rows] * power.thrust
        fleet.believed[rows] -= fleet.thrust_ratio[rows] * opened / power.exhaust_speed * lengths
        if self.leg.arcs[self.arc].solid:
            opened = self.leg.throttle(self.arc, elapsed) * power.thrust
        fleet.thrust_ratio[rows] = found[:, AXIAL] * fleet.believed[rows] / opened

    def coasted(self, rows: Rows, seconds: Floats) -> None:
        """Between two burns of the leg."""
        self._aimed.p[rows] += seconds[:, None] * self._aimed.rate[rows]

    def cut_off(self, ending: Ending) -> Ending:
        """The same, the orbit being watched near the end only.

        A flight beyond the orbit when the watch begins never passes it: it burns for what is left
        by guidance.
        """
        if ending.orbit is None or not self._last:
            return ending
        own, left, dry = ending.orbit, self._aimed.left, ending.limit
        most = NEAR * self.guidance.cycle

        def limit(fleet: Fleet, rows: Rows, elapsed: Floats) -> Floats:
            here = np.concatenate([fleet.state[rows], fleet.reading[rows]], axis=1)
            beyond = (left[rows] < most) & (own(rows, here, elapsed) >= 0.0)
            most_left = np.inf if dry is None else dry(fleet, rows, elapsed)
            return np.where(beyond, np.minimum(np.maximum(left[rows], 0.0), most_left), most_left)

        def value(rows: Rows, found: Floats, elapsed: Floats) -> Floats:
            return np.where(left[rows] < most, own(rows, found, elapsed), -1.0)

        return replace(ending, orbit=value, limit=limit)

    def missing(self, rows: Rows, fleet: Fleet) -> Floats:
        """(n,) m/s that are still wanted."""
        power = self.leg.power(self.leg.last)
        push = fleet.thrust_ratio[rows] * power.thrust / fleet.believed[rows]
        share = np.minimum(self._aimed.left[rows] * push / power.exhaust_speed, 0.95)
        return np.asarray(-power.exhaust_speed * np.log1p(-share))

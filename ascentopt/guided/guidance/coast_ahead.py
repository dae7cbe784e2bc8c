"""How far out a coast leads that begins in the air: what guidance expects before it cuts off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.guided.guidance.leg import apoapsis_radius, climb_rate
from ascentopt.guided.plan.planned_arc import PlannedArc
from ascentopt.guided.steps.rows import OverRows
from ascentopt.guided.steps.step import STATE, StepForm, step_function
from ascentopt.typing import Floats
from ascentopt.world.body import Body

PACE = 4.0
"""s of a step: an apoapsis is told to a metre or so, the same way for the plan and for a flight."""

MATTERS = 10.0
"""m by which the air must lower the planned apoapsis to be reckoned with."""


@dataclass(frozen=True, eq=False)
class CoastAhead:
    """A coast in the nominal vehicle's shape through air so much denser than nominal.

    Args:
        coast: as planned.
        seconds: of it that lead through the air, by the plan.
        denser: factor on the density that is reckoned with.
    """

    coast: PlannedArc
    seconds: float
    denser: float

    @classmethod
    def of(cls, coast: PlannedArc, denser: float) -> CoastAhead | None:
        """Of a planned coast; None where the air does not matter, or it comes down at once."""
        air = coast.kind.body.atmosphere
        readings = coast.readings
        if air is None or readings.altitude[0] >= air.ceiling or climb_rate(coast.start[None]) <= 0:
            return None
        climbing = np.flatnonzero(
            (readings.altitude >= air.ceiling) | (climb_rate(coast.flown.states) <= 0.0)
        )
        last = int(climbing[0]) if len(climbing) else len(coast.flown.times) - 1
        found = cls(coast, float(coast.flown.times[last]) - coast.began, denser)
        lowered = apoapsis_radius(found._mu, coast.start[None]) - found.planned
        return found if lowered[0] > MATTERS else None

    @property
    def _body(self) -> Body:
        return self.coast.kind.body

    @property
    def _mu(self) -> float:
        return self._body.gravitational_parameter

    @property
    def planned(self) -> float:
        """Radius of the apoapsis in m as the plan has it, in air as it is."""
        bare = replace(self, denser=1.0)
        return float(bare.apoapsis(self.coast.start[None])[0])

    def beyond(self, states: Floats, goal: float) -> Floats:
        """(N,) by how much of a goal the apoapsis is farther; roughly where it is plainly nearer.

        Air only lowers it: where it is below the goal before that, nobody needs to know how much.
        """
        found = apoapsis_radius(self._mu, states) / goal - 1.0
        high = np.flatnonzero(found >= 0.0)
        if len(high):
            found[high] = self.apoapsis(states[high]) / goal - 1.0
        return np.asarray(found)

    def apoapsis(self, states: Floats) -> Floats:
        """(N,) m of radius, beyond the air, from (N, 7+) states where the engine stops.

        With the mass as planned: what is dropped before the coast is in it still.
        """
        step, count = OverRows(step_function(StepForm(self.coast.kind, None, (0.0,)))), len(states)
        number = max(int(np.ceil(self.seconds / PACE)), 1)
        length = np.full((count, 1), self.seconds / number)
        state = np.zeros((count, STATE))
        state[:, :6], state[:, 6] = states[:, :6], self.coast.start[6]
        numbers = np.tile(self.coast.arc.numbers, (count, 1))
        motors, platform = np.ones((count, 2)), np.zeros((count, 3))
        aim, air = np.zeros((count, 7)), np.tile([self.denser, 0.0, 0.0], (count, 1))
        for _ in range(number):
            clock = np.zeros((count, 2))
            found = step(clock, state, length, numbers, motors, platform, aim, air)
            state = found[:, :STATE]
        return apoapsis_radius(self._mu, state)

"""N flights on their way, as arrays, and the step that takes some of them on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.plan.parts import ArcNumbers, Side
from ascentopt.guided.plan.planned_arc import PlannedArc
from ascentopt.guided.steps.aims import Aim
from ascentopt.guided.steps.rows import OverRows
from ascentopt.guided.steps.step import READ, STATE, StepForm, step_function
from ascentopt.typing import Floats

NO_AIM = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0)
"""What guidance says where nobody listens: any direction, at full throttle."""

Rows = np.ndarray
"""(n,) indices of some of the flights."""


@dataclass(eq=False)
class Fleet:
    """The flights now.

    Attributes:
        time: (N,) s since lift-off.
        state: (N, 8) position, velocity, mass, and what the core has burned.
        reading: (N, READ) at the end of the last step.
        alive: (N,) whether a flight is still under way.
        loads: (N, 4) greatest so far, in the order of `Loads`.
        bare: whether the payload flies without its fairing.
        thrust_ratio, believed: (N,) what guidance measured of the nominal thrust, and the mass in
            kg that it believes in.
    """

    time: Floats
    state: Floats
    reading: Floats
    alive: np.ndarray
    loads: Floats
    thrust_ratio: Floats
    believed: Floats
    bare: bool = False

    @classmethod
    def on_pad(cls, start: Floats, added: Floats) -> Fleet:
        """N flights at lift-off: a state (7) as described, and kg more of each."""
        count = len(added)
        state = np.tile(np.append(start, 0.0), (count, 1))
        state[:, 6] += added
        return cls(
            time=np.zeros(count),
            state=state,
            reading=np.zeros((count, READ)),
            alive=np.ones(count, dtype=bool),
            loads=np.zeros((count, 4)),
            thrust_ratio=np.ones(count),
            believed=np.full(count, float(start[6])),
        )

    @property
    def under_way(self) -> Rows:
        """Indices of those that are."""
        return np.flatnonzero(self.alive)

    def take(self, rows: Rows, lengths: Floats, found: Floats) -> None:
        """Go on to what a step found."""
        self.time[rows] += lengths
        self.state[rows] = found[:, :STATE]
        self.reading[rows] = found[:, STATE:]
        loads = found[:, STATE + 1 : STATE + 5] * np.array([1.0, 1.0, 1.0, float(self.bare)])
        self.loads[rows] = np.maximum(self.loads[rows], loads)


class Stepper:
    """Steps of one arc with one aim; not to be shared by threads."""

    def __init__(
        self,
        planned: PlannedArc,
        aim: Aim | None,
        numbers: ArcNumbers,
        sides: tuple[Side, ...],
        deviations: Deviations,
        platform: Floats,
    ) -> None:
        air = deviations.air if planned.kind.body.atmosphere is not None else None
        heights = () if air is None else tuple(air.altitude.tolist())
        kind = planned.kind
        if aim is None and kind.guidance is not Guidance.COAST:
            raise ValueError("a burn needs an aim")
        self.coasts = aim is None
        self._step = OverRows(step_function(StepForm(kind, aim, heights)))
        self._numbers, self._sides, self._platform = numbers, sides, platform
        self._air = np.zeros((len(deviations), 0))
        if air is not None:
            stacked = np.stack([air.density, air.east, air.north], axis=2)
            self._air = stacked.reshape(len(deviations), -1)
        self._no_aim = np.tile(NO_AIM, (len(deviations), 1))

    def __call__(
        self, fleet: Fleet, rows: Rows, elapsed: Floats, lengths: Floats, aim: Floats | None = None
    ) -> Floats:
        """(n, STATE + READ) of some flights, each by a length of its own."""
        time = fleet.time[rows]
        numbers, motors = self._numbers.now(self._sides, time, rows)
        given = self._no_aim[rows] if aim is None else aim
        return self._step(
            np.stack([time, elapsed], axis=1),
            fleet.state[rows],
            lengths[:, None],
            numbers,
            motors,
            self._platform[rows],
            given,
            self._air[rows],
        )

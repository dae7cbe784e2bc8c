"""The payload made free beside a known flight: the greatest that its structure carries."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

from ascentopt.flight.dynamics.state import MASS
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.solve import Designed, DesignSolver
from ascentopt.optimal.payload.start import carrying, least_payload, usual_payload
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle

CLOSE = 1e-4
"""Of payload and dry last stage together: what may be left above the reserve."""

NARROW = 1e-2
"""Share of the payload by which it may grow after structures were compared: a part in a hundred
changes what one of them gains on another by as much of that."""

NOTHING = 1e-6
"""Kg of payload for a kilogram left over that are none: the solver's barrier leaves less."""

LEAST_STEP = 0.25
"""Share of the way from what a flight leaves, or burns too much, to what is to be kept: a step that
is shorter leads nowhere."""

FLIGHTS = 2
"""Flights of one payload that are begun from in haste: where both lead nowhere another payload is
the better start."""

TO_SPARE = 5.0
"""m/s that are left where structures are compared, meshes refined, and a payload is named: first
meshes have been wrong by up to 4 m/s."""


def next_to_nothing(vehicle: Vehicle) -> float:
    """Kg left that are as good as none."""
    return CLOSE * (vehicle.payload_mass + vehicle.stages[-1].dry_mass)


def left_of(flight: Attempt) -> float:
    """Kg left beside the mission's reserve, of propellant or of ballast; below zero: overdrawn.

    In the tank of the stage that inserts: what others carry unlit holds no payload.
    """
    sequence = flight.sequence
    if sequence.ballasted:
        return sequence.ballast(float(flight.found.arcs[0].states[0, MASS]))
    return sequence.propellant_in_tank(flight.cut_off_mass)


@dataclass(frozen=True, eq=False)
class FreedPayload:
    """Finds greatest payloads from flights with others.

    Args:
        task: whose vehicle's payload does not matter.
        reserve: kg to be left beside the mission's.
    """

    task: Task
    reserve: float

    def carrying(self, payload: float) -> Task:
        """The task with another payload."""
        return carrying(self.task, payload)

    def designed(self, task: Task, attempts: list[Attempt]) -> Designed | None:
        """The greatest payload of the best structure that is solved for it; None where none is."""
        flights = [one for one in attempts if one.reached and one.keeps_limits]
        flights = flights[:FLIGHTS] if task.hasty else flights
        hasty, patient = task.in_haste(), [] if task.hasty else flights
        tries = (
            *((led, hasty, one) for one in flights for led in (self._at_once, self._in_steps)),
            *((self._at_once, task, one) for one in patient),
        )
        return next((one for one in (led(at, by) for led, at, by in tries) if one), None)

    def _at_once(self, task: Task, flight: Attempt) -> Designed | None:
        return self._keeping(self._kept(), task, flight)

    def _keeping(self, kept: float, task: Task, flight: Attempt) -> Designed | None:
        """The greatest payload that leaves so many kg, or overdraws the tank by them.

        None at once where to first order it is less than the least: what a flight leaves bends down
        as its payload grows, so that slopes at a heavy one promise more than a light one does.
        """
        solver = DesignSolver(task, Design.greatest_payload(), kept)
        foretold = solver.foretold(flight)
        if foretold is not None and foretold[0] < least_payload(task):
            return None
        return solver.solved(flight)

    def _in_steps(self, task: Task, flight: Attempt) -> Designed | None:
        """The greatest payload by steps from what a flight leaves to what is to be kept.

        One that leads nowhere is halved; None if all do. Where losses grow fast with the payload
        slopes point far beyond the greatest, and a flight that burns far too much is another one.
        """
        step, wanted = 0.5, self._kept()
        while step >= LEAST_STEP:
            left = left_of(replace(flight, sequence=task.arcs_of(flight.plan)))
            found = self._keeping(left + step * (wanted - left), task, flight)
            if found is None:
                step *= 0.5
                continue
            if step == 1.0:
                return found  # before that its tank is overdrawn, whatever holds the payload
            step = min(2.0 * step, 1.0)
            task = self.carrying(found.vehicle.payload_mass).in_haste()
            there = found.plain(with_relaxed_tank(task))
            if there is None:
                return None
            flight = there
        return None

    def next_to(self, designed: Designed) -> tuple[Task, Attempt] | None:
        """The task with a payload that leaves a little, and its flight with a relaxed tank.

        With still less payload where that is not led to: next to where a heavier one falls back
        what is left changes without bounds with the payload. None where no lighter one is led to.
        """
        flight, payload = designed.attempt, designed.vehicle.payload_mass
        last = self.task.vehicle.stages[flight.sequence.arcs[-1].stage]
        kept = flight.final_mass * (1.0 - exp(-TO_SPARE / last.engine.exhaust_speed))
        least = NARROW * (payload + self.task.vehicle.stages[-1].dry_mass)
        for less in (kept * designed.payload_for_left_over, least, 3.0 * least):
            task = self.carrying(max(payload - less, 0.0))
            found = designed.plain(with_relaxed_tank(task))
            if found is not None:
                return task, found
        return None

    def _kept(self) -> float:
        """Kg to be left, and half of what is next to nothing."""
        usual = self.carrying(usual_payload(self.task, self.reserve))
        return self.reserve + 0.5 * next_to_nothing(usual.vehicle)

"""An attempt, flown: the plan leads the flight until that ends in the orbit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.simulation.simulate import fly, unfinished_flight
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.steering_table import steering_of
from ascentopt.optimal.result.terminal_correction import correct_terminal_target
from ascentopt.optimal.task import Task
from ascentopt.steering import TabulatedSteering

NEGLIGIBLE_MISS = (2.0, 2e-3)
"""m and m/s of insertion miss that are not worth another solve: a fifth of the certificate's."""

MOST_CORRECTIONS, CLOSES = 6, 0.2
"""Corrections, and what each leaves of the miss at most, once the mesh is what it stays, unless the
plan wanders: a coast of seven hours round a high orbit begins with four kilometres."""


@dataclass(frozen=True, eq=False)
class ClosedLoopFlight:
    """An attempt with the steering table made of it and the independent flight of that."""

    attempt: Attempt
    steering: TabulatedSteering
    flight: Flight
    ended_early: bool = False

    @classmethod
    def of(cls, task: Task, attempt: Attempt) -> ClosedLoopFlight:
        """Export the steering and fly it, as far as it goes."""
        steering = steering_of(attempt, task.mission)
        try:
            return cls(attempt, steering, fly(task.vehicle, task.mission, steering))
        except FlightError as failure:
            line = f"the independent flight ended early: {failure}"
            told = replace(attempt, history=(*attempt.history, line))
            return cls(
                told, steering, unfinished_flight(attempt.sequence, failure), ended_early=True
            )

    @property
    def miss(self) -> float:
        """By how much it ends off what was intended, over what no other solve is worth."""
        off = self.flight.final_state[:6] - self.attempt.intended_end_state()
        parts = (np.linalg.norm(part) for part in (off[:3], off[3:]))
        return max(float(p / least) for p, least in zip(parts, NEGLIGIBLE_MISS, strict=True))


def trajectory_of(case: Case, attempt: Attempt) -> Trajectory:
    """What the steering of an attempt's solution flies, as far as it goes, arriving or not."""
    try:
        return fly(case.vehicle, case.mission, steering_of(attempt, case.mission)).trajectory
    except FlightError as failure:
        return failure.trajectory


def close_loop(task: Task, attempt: Attempt) -> ClosedLoopFlight:
    """Let the plan lead the flight by what the flight misses it by, until it ends in the orbit.

    A centimetre per second at a cut-off is a hundred metres half a revolution later: a coast
    magnifies what any mesh leaves, and the miss is closed where it arises in any autopilot.
    """
    arrival, wanders = ClosedLoopFlight.of(task, attempt), False
    for _ in range(MOST_CORRECTIONS):
        if arrival.ended_early or arrival.miss < 1.0:
            break
        by = arrival.flight.final_state[:6] - arrival.attempt.planned_end_state
        off, fast = (float(np.linalg.norm(part)) for part in (by[:3], by[3:]))
        task.watch.finishes(f"the flight misses its plan by {off:.3g} m and {fast:.3g} m/s")
        led = correct_terminal_target(task, arrival.attempt, by, hold_coasts=wanders)
        if led.found is arrival.attempt.found:  # not solved: what there is stands, and says so
            return replace(arrival, attempt=led)
        before, arrival = arrival, ClosedLoopFlight.of(task, led)
        wanders = wanders or arrival.miss > CLOSES * before.miss
    return arrival

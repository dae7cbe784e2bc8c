"""The payload with which a vehicle keeps limits that it violates: often a heavier one is slower."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from ascentopt.collocation import NotConverged, Solution, solve
from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.elastic_limits import ElasticSolution
from ascentopt.optimal.solve.limited_solver import NO_EXCESS
from ascentopt.optimal.task import Task
from ascentopt.progress import TimeIsUp

LOADS = ("dynamic_pressure", "q_alpha", "angle_of_attack")

TRIES = 8
"""Payloads tried, each by a secant from the last two, or half as far as one that is not solved; the
examples take 2 to 4."""

TO_SPARE = 0.002
"""Share of the limits that is left on the first mesh, which may be wrong by a tenth of it."""

AIM = 1e-3
"""Share of the limits beyond what is asked for that is aimed at, not to end a hair short of it."""

FARTHEST = 2.0
"""Times the payload that one step may go, or a fraction of it."""

BRIEF = 100
"""Iterations of a payload on the way; with the multipliers of the last one 10 to 60 do."""


@dataclass(frozen=True)
class _Trial:
    """A payload, kg, and the flight to the orbit with it that violates the limits least."""

    payload: float
    eased: ElasticSolution

    @property
    def over(self) -> float:
        """Logarithm of the loads over their limits, with what is to be spared."""
        return self.eased.excess


def payload_within_limits(task: Task, attempt: Attempt, gain: float) -> float | None:
    """Payload in kg with which the flight to the orbit keeps the limits; None where none is seen.

    Looked for with limits that are a little tighter than the mission's, so that the payload named
    flies on finer meshes, too.

    Args:
        solver: of the mission that is refused.
        attempt: the one that violates its limits least on its way to the orbit.
        gain: share by which the loads exceed their limits less for a kilogram more.
    """
    if attempt.least_violation is None or gain == 0.0:
        return None
    tight = replace(task, mission=_tightened(task.mission))
    last = _Trial(task.vehicle.payload_mass, attempt.least_violation)
    slope, over = -gain / attempt.least_violation.factor, last.over - log(1.0 - TO_SPARE)
    stride = 1.0
    for _ in range(TRIES):
        payload = _near(last.payload, last.payload - stride * (over + AIM) / slope)
        if payload is None:
            return None
        found = _tried(tight, attempt, payload, last.eased.solution)
        if found is None:  # the solver was led astray: nearer by it is less so
            stride *= 0.5
            continue
        stride = 1.0
        if found.over <= NO_EXCESS:
            return found.payload
        slope = (found.over - over) / (found.payload - last.payload)
        if slope * gain >= 0.0:
            return None
        last, over = found, found.over
    return None


def _tightened(mission: Mission) -> Mission:
    """The mission with limits on loads that leave something to spare."""
    limits, left = mission.limits, 1.0 - TO_SPARE
    given = {name: getattr(limits, name) for name in LOADS}
    tight = {name: left * value for name, value in given.items() if value is not None}
    return replace(mission, limits=replace(limits, **tight))


def _near(payload: float, wanted: float) -> float | None:
    """A payload no farther from another one than a step may go; None where it is none.

    From no payload a step by a factor goes nowhere.
    """
    if wanted <= 0.0 or payload == 0.0:
        return None
    return min(max(wanted, payload / FARTHEST), payload * FARTHEST)


def _tried(task: Task, attempt: Attempt, payload: float, start: Solution) -> _Trial | None:
    """With another payload the flight to the orbit that violates the limits least, if found."""
    if attempt.least_violation is None:
        return None
    vehicle = replace(task.vehicle, payload_mass=payload)
    try:
        sequence = sequence_of(vehicle, task.mission, attempt.plan)
    except InputError:
        return None
    if sequence.names != attempt.sequence.names:
        return None
    flight = replace(
        attempt.least_violation.flight, vehicle=vehicle, mission=task.mission, sequence=sequence
    )
    settings = task.settings.given_up_after(BRIEF)
    try:
        found = solve(flight.greatest_mass_problem(), start, task.in_time(settings))
    except TimeIsUp:
        return None
    except NotConverged:
        return None
    return _Trial(payload, ElasticSolution(found, flight))

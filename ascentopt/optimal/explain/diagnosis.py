"""What a flight that falls short teaches: what would fly, and what stands in the way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.arguments import checked_kinds
from ascentopt.collocation import Envelope, Problem, Solution
from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import STEP, Case, variations
from ascentopt.optimal.problem.transcription import missing_speed
from ascentopt.optimal.problem.violations import limits_if_imposed
from ascentopt.optimal.result.closed_loop import trajectory_of
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.task import Task
from ascentopt.tables import in_a_line
from ascentopt.units import STANDARD_GRAVITY

NOTHING = 0.1
"""m/s. A limit whose whole worth is less than this does not stand in the way."""


@checked_kinds
@dataclass(frozen=True, kw_only=True)
class Relief:
    """What one unit more of a limit gives: m/s that are missing less."""

    limit: str
    unit: str
    gain: float

    __repr__ = in_a_line

    def __str__(self) -> str:
        return f"{self.limit}: {self.gain:.3g} m/s per {self.unit}"


@dataclass(frozen=True, kw_only=True)
class EasedAcceleration:
    """A limit on axial acceleration, m/s^2, that the orbit is reached within with a payload, kg.

    ``unburned`` are the stages in which the mission's own limit leaves propellant, and how many kg.
    """

    limit: float
    payload: float
    unburned: tuple[tuple[str, float], ...]

    __repr__ = in_a_line

    def __str__(self) -> str:
        left = " and ".join(f"{mass:.0f} kg in stage {name!r}" for name, mass in self.unburned)
        return (
            f"An engine that throttles no further must stop before the limit on axial "
            f"acceleration: {left} cannot be burned. No payload was seen to fly within it; with "
            f"{self.payload:.5g} kg the orbit is reached within one of "
            f"{self.limit / STANDARD_GRAVITY:.3f} g."
        )


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Diagnosis:
    """Of the attempt that comes nearest to the orbit.

    Args:
        shortfall: m/s missing.
        payload: kg with which the orbit is reached within the limits; None where none was seen to.
        relief: limits that act on the flight, the most helpful first.
        trajectory: of the flight that comes nearest, flown independently as far as it goes; where
            only a tank that is overdrawn was seen to reach the orbit, with that one.
        eased: within which looser limit on acceleration it is reached, where no payload flies
            within the mission's; None where that is not what keeps it.
    """

    shortfall: float
    payload: float | None
    relief: tuple[Relief, ...]
    trajectory: Trajectory
    eased: EasedAcceleration | None = None

    __repr__ = in_a_line

    def __str__(self) -> str:
        return f"short by {in_words(self.shortfall)}. {self.advice}"

    @property
    def advice(self) -> str:
        """In words."""
        if self.eased is not None:
            says = str(self.eased)
        elif self.payload is None:
            says = "No payload was seen to reach it."
        else:
            says = f"It is reached with {self.payload:.5g} kg of payload."
        if self.relief:
            says += f" Relaxing a limit gives {'; '.join(map(str, self.relief))}."
        return says


def diagnose(task: Task, attempt: Attempt) -> Diagnosis:
    """Look into an attempt that has a flight nearest to the orbit, or an overdrawn one to it."""
    nearest = attempt.nearest_flight or attempt.overdrawn_flight
    if nearest is None or attempt.shortfall is None:
        raise LookupError(f"{attempt.plan}: no flight comes near; look at the history.")
    flown = task if attempt.nearest_flight else with_relaxed_tank(task)
    return Diagnosis(
        shortfall=attempt.shortfall,
        payload=None,
        relief=relief_of(task, attempt),
        trajectory=trajectory_of(
            Case(flown.vehicle, flown.mission), replace(attempt, solution=nearest)
        ),
    )


def relief_of(task: Task, attempt: Attempt) -> tuple[Relief, ...]:
    """What relaxing each limit by a unit gives an attempt that falls short, most helpful first."""
    nearest = attempt.nearest_flight
    found = () if nearest is None else _reliefs(task, attempt, nearest)
    return tuple(sorted(found, key=lambda one: -one.gain))


def _reliefs(task: Task, attempt: Attempt, nearest: Solution) -> Iterator[Relief]:
    """Limits that act, by the multipliers of the least missing speed."""
    envelope, missing = Envelope.of(nearest), missing_speed(nearest)
    for variation in variations(task.case):
        if variation.limit is None:
            continue
        try:
            changed = variation.changed(STEP)
        except InputError:
            continue
        lost = envelope.change(_problem(changed, attempt, nearest))
        gain = -(lost or 0.0) / (missing * STEP)
        if gain * variation.limit > NOTHING:
            yield Relief(limit=variation.quantity, unit=variation.unit, gain=gain)


def _problem(case: Case, attempt: Attempt, nearest: Solution) -> Problem:
    """The least missing speed of a changed case, on the meshes of the solved one."""
    sequence = sequence_of(case.vehicle, case.mission, attempt.plan)
    limits = limits_if_imposed(attempt.limited_arcs, case.mission.limits)
    mission = replace(case.mission, limits=limits)
    told = attempt.transcription_of(case.vehicle, mission, sequence, nearest)
    return replace(
        told.least_missing_speed_problem(), parameter_values=nearest.problem.parameter_values
    )

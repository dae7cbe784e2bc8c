"""What a flight that falls short teaches: what would fly, and what stands in the way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import log

import numpy as np

from ascentopt.collocation import Envelope, Problem, Solution
from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.deadline import TimeIsUp
from ascentopt.optimal.perturbations import STEP, Case, variations
from ascentopt.optimal.problem.transcription import missing_speed
from ascentopt.optimal.problem.violations import limits_if_imposed
from ascentopt.optimal.result.closed_loop import trajectory_of
from ascentopt.optimal.solve.impose_limits import impose_limits_without_steps
from ascentopt.optimal.solve.ladder import REACHED_EXACTLY
from ascentopt.optimal.solve.neighbour import solve_from_other_vehicle
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle
from ascentopt.units import STANDARD_GRAVITY

NOTHING = 0.1
"""m/s. A limit whose whole worth is less than this does not stand in the way."""

TRIES = 6
"""Payloads tried; each comes from the last by the rocket equation or a secant."""

BRIEF = 60
"""Iterations of a program on the way to a payload that flies; good ones take 8 to 45."""

BEYOND = 2.0
"""m/s to spare that a payload is looked for with."""

NEARER = 5e-4
"""Share of the payload to which the one that flies is looked for."""

LEAST, LEFT, AMPLE = 2.0, 3.0, 5.0
"""m/s that the payload named has to spare at least, is aimed at, and at most: the first mesh, on
which it flies, may be wrong by 2 m/s; 1 m/s is a kilogram or so of the example's 2740."""


@dataclass(frozen=True, kw_only=True)
class Relief:
    """What one unit more of a limit gives: m/s that are missing less."""

    limit: str
    unit: str
    gain: float

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

    def __str__(self) -> str:
        left = " and ".join(f"{mass:.0f} kg in stage {name!r}" for name, mass in self.unburned)
        return (
            f"An engine that throttles no further must stop before the limit on axial "
            f"acceleration: {left} cannot be burned. No payload was seen to fly within it; with "
            f"{self.payload:.5g} kg the orbit is reached within one of "
            f"{self.limit / STANDARD_GRAVITY:.3f} g."
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Diagnosis:
    """Of the attempt that comes nearest to the orbit.

    Args:
        shortfall: m/s missing.
        payload: kg with which the same burns and coasts reach the orbit; None when not even an
            empty vehicle was seen to.
        limited: whether it keeps to the limits on loads, too; otherwise they may cost more.
        relief: limits that act on the flight, the most helpful first.
        trajectory: of the flight that comes nearest, flown independently as far as it goes; where
            only a tank that is overdrawn was seen to reach the orbit, with that one.
        eased: within which looser limit on acceleration it is reached, where no payload flies
            within the mission's; None where that is not what keeps it.
    """

    shortfall: float
    payload: float | None
    limited: bool
    relief: tuple[Relief, ...]
    trajectory: Trajectory
    eased: EasedAcceleration | None = None

    def __str__(self) -> str:
        return f"short by {in_words(self.shortfall)}. {self.advice}"

    @property
    def advice(self) -> str:
        """In words."""
        aside = "" if self.limited else ", limits on loads aside,"
        if self.eased is not None:
            says = str(self.eased)
        elif self.payload is None:
            says = "A quick search found no payload that reaches it; max_payload looks longer."
        else:
            says = f"It is reached{aside} with {self.payload:.5g} kg of payload."
        if self.relief:
            says += f" Relaxing a limit gives {'; '.join(map(str, self.relief))}."
        return says


def diagnose(task: Task, attempt: Attempt) -> Diagnosis:
    """Look into an attempt that has a flight nearest to the orbit, or an overdrawn one to it."""
    nearest = attempt.nearest_flight or attempt.overdrawn_flight
    if nearest is None or attempt.shortfall is None:
        raise LookupError(f"{attempt.plan}: no flight comes near; look at the history.")
    payload, limited = _PayloadSearch(task, attempt).payload(nearest, attempt.shortfall)
    flown = task if attempt.nearest_flight else with_relaxed_tank(task)
    return Diagnosis(
        shortfall=attempt.shortfall,
        payload=payload,
        limited=limited,
        relief=relief_of(task, attempt),
        trajectory=trajectory_of(
            Case(flown.vehicle, flown.mission), replace(attempt, solution=nearest)
        ),
    )


def relief_of(task: Task, attempt: Attempt) -> tuple[Relief, ...]:
    """What relaxing each limit by a unit gives an attempt that falls short, most helpful first."""
    nearest = attempt.nearest_flight
    found = () if nearest is None else _PayloadSearch(task, attempt).relief(nearest)
    return tuple(sorted(found, key=lambda one: -one.gain))


@dataclass(frozen=True)
class _Trial:
    """A payload in kg, its attempt, and the speed it has to spare in m/s, negative = missing."""

    payload: float
    attempt: Attempt
    spare: float

    @property
    def solution(self) -> Solution:
        """Of the mass where it flies, of the least missing speed where it does not."""
        return self.attempt.nearest_flight or self.attempt.found


@dataclass(frozen=True)
class _PayloadSearch:
    task: Task
    attempt: Attempt

    def relief(self, nearest: Solution) -> Iterator[Relief]:
        """Limits that act, by the multipliers of the least missing speed."""
        envelope, missing = Envelope.of(nearest), missing_speed(nearest)
        for variation in variations(Case(self.task.vehicle, self.task.mission)):
            if variation.limit is None:
                continue
            try:
                changed = variation.changed(STEP)
            except InputError:
                continue
            lost = envelope.change(self._problem(changed, nearest))
            gain = -(lost or 0.0) / (missing * STEP)
            if gain * variation.limit > NOTHING:
                yield Relief(limit=variation.quantity, unit=variation.unit, gain=gain)

    def payload(self, nearest: Solution, missing: float) -> tuple[float | None, bool]:
        """Payload that reaches the orbit, and whether it does so within the limits on loads."""
        try:
            flies = self._heaviest_that_flies(nearest, missing)
        except TimeIsUp:
            flies = None
        if flies is None:
            return None, False
        try:
            within = self._within_limits(flies)
        except TimeIsUp:
            within = None
        return (flies.payload, False) if within is None else (within, True)

    def _heaviest_that_flies(self, start: Solution, missing: float) -> _Trial | None:
        """The heaviest payload found that flies, each try from the flight of the last.

        The speed missing is what a lighter payload must gain by the rocket equation, then by what
        the last step gained; once one flies, what it has left and what the lightest that does not
        lacks meet in between.
        """
        heavy = _Trial(self.task.vehicle.payload_mass, self.attempt, -missing)
        flies: _Trial | None = None
        payload = _lighter(self.task.vehicle, missing)
        for _ in range(TRIES):
            trial = None if payload is None else self._tried(payload, self.attempt, start)
            if trial is None and heavy.attempt is self.attempt and flies is None:
                # With so little to spare it may not be solved: a lighter one has more.
                payload = _lighter(self.task.vehicle, 2.0 * missing + BEYOND)
                trial = None if payload is None else self._tried(payload, self.attempt, start)
            if trial is None or payload is None:
                break
            start, last = trial.solution, heavy
            enough = 0.0 if flies is None else LEAST
            flies, heavy = (trial, heavy) if trial.spare >= enough else (flies, trial)
            if flies is None:
                payload = self._lighter_than_both(last, heavy)
            elif heavy.payload - flies.payload < NEARER * heavy.payload or flies.spare < AMPLE:
                break
            else:
                share = (flies.spare - LEFT) / (flies.spare - heavy.spare)
                payload = flies.payload + share * (heavy.payload - flies.payload)
        return flies

    def _lighter_than_both(self, last: _Trial, heavy: _Trial) -> float | None:
        """A lighter payload than two that fall short; None when there is none.

        Losses fall with the payload as well, or rise: the line through both tells, and the rocket
        equation where the line leads nowhere.
        """
        slope = (heavy.spare - last.spare) / (last.payload - heavy.payload)
        by_line = heavy.payload - (BEYOND - heavy.spare) / slope if slope > 0.0 else -1.0
        if by_line > 0.0:
            return by_line
        return _lighter(self._vehicle(heavy.payload), -heavy.spare)

    def _within_limits(self, trial: _Trial) -> float | None:
        """Payload with which the flight keeps to the limits on loads as well; None if unknown."""
        for _ in range(TRIES):
            own = self._solver_with_payload(trial.payload)
            attempt = (
                impose_limits_without_steps(own, trial.attempt)
                if trial.attempt.reached
                else trial.attempt
            )
            if attempt.keeps_limits:
                return trial.payload
            lighter = _lighter(own.vehicle, 1.1 * (attempt.shortfall or np.inf))
            if attempt.nearest_flight is None or lighter is None:
                return None
            again = self._tried(lighter, attempt, attempt.nearest_flight)
            if again is None or again.spare < 0.0:
                return None
            trial = again
        return None

    def _tried(self, payload: float, attempt: Attempt, start: Solution) -> _Trial | None:
        """A payload with the structure and the limits of an attempt; None when unsolved."""
        tried = solve_from_other_vehicle(self._solver_with_payload(payload), attempt, start)
        if tried.reached:
            last = tried.sequence.arcs[tried.sequence.cut_off]
            exhaust = last.parameters.thrust / last.parameters.mass_flow
            spare = exhaust * log(tried.cut_off_mass / last.least_mass)
            return _Trial(payload, tried, spare)
        if tried.nearest_flight is None:
            return None
        missing = missing_speed(tried.nearest_flight)
        return _Trial(payload, tried, 0.0 if missing < REACHED_EXACTLY else -missing)

    def _solver_with_payload(self, payload: float) -> Task:
        """The task with another payload, and little patience for it."""
        brief = self.task.settings.given_up_after(BRIEF)
        return replace(self.task, vehicle=self._vehicle(payload), settings=brief)

    def _vehicle(self, payload: float) -> Vehicle:
        return replace(self.task.vehicle, payload_mass=payload)

    def _problem(self, case: Case, nearest: Solution) -> Problem:
        """The least missing speed of a changed case, on the meshes of the solved one."""
        attempt = self.attempt
        sequence = sequence_of(case.vehicle, case.mission, attempt.plan)
        limits = limits_if_imposed(attempt.limited_arcs, case.mission.limits)
        mission = replace(case.mission, limits=limits)
        told = attempt.transcription_of(case.vehicle, mission, sequence, nearest)
        return replace(
            told.least_missing_speed_problem(), parameter_values=nearest.problem.parameter_values
        )


def _lighter(vehicle: Vehicle, missing: float) -> float | None:
    """Payload in kg with which the ideal delta-v is so much more; None when there is none."""

    def gains(payload: float) -> float:
        return replace(vehicle, payload_mass=payload).ideal_delta_v - vehicle.ideal_delta_v

    low, high = 0.0, vehicle.payload_mass
    if gains(low) < missing:
        return None
    while high - low > 1e-6 * vehicle.payload_mass:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if gains(middle) >= missing else (low, middle)
    return low

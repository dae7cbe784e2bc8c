"""From a flight that breaks the limits on loads to the best one within them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log

import numpy as np

from ascentopt.collocation import Guess, NotConverged, Problem, Solution
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.elastic_limits import ElasticSolution, limit_factor, with_load_excess
from ascentopt.optimal.problem.transcription import Transcription, missing_speed
from ascentopt.optimal.problem.violations import IMPOSED_FROM, loads
from ascentopt.optimal.solve.ladder import LOOSE_TOLERANCE, MASS_BARRIER, REACHED
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.warm_start.thrust_direction import guess_on_sequence

EXCESS_MARGIN = 0.01
"""More than what a flight breaks the limits by, as a logarithm: it starts inside of the bound."""

NO_EXCESS = 1e-5
"""Logarithm of a factor on the limits that is none: the solver's tolerance leaves 1e-8."""

ELASTIC_BARRIERS = (1e-3, 1e-2)
"""Barriers from which eased limits are brought down, in turn. Of 18 flights that steps towards the
limits did not bring within them the first solves 15, the second 2 of the others."""

LAST_RESORT_FACTOR = 2
"""Times the iterations that the settings allow: seed 92 takes 144 to 173 of 150 from here, and
there is nothing else to try."""

WHEREVER = "limits, wherever the flight ends,"
"""What is eased, in the history."""

LimitStep = Callable[[Solution, frozenset[str]], Solution | ElasticSolution | float]
"""From a flight and the arcs to watch to one within the limits, the mildest, or what is missing."""


class LimitedSolver(StructureSolver):
    """The last steps of an attempt: the limits on loads."""

    def impose_limits_directly(self, attempt: Attempt) -> Attempt | None:
        """Watch the arcs that break a limit, until none does; None where the solver cannot follow.

        Each time the greatest mass within the limits, from the solution that breaks them.
        """
        try:
            return self._impose_until_kept(attempt, self._most_mass_within_limits)
        except NotConverged:
            return None

    def solve_within_limits(self, attempt: Attempt, start: Guess) -> Attempt:
        """The greatest mass within the limits that an attempt keeps, from a guess of it."""
        limits, limited_arcs = self.task.mission.limits, attempt.limited_arcs
        problem = self._transcription(limits, limited_arcs).greatest_mass_problem()
        settings = replace(self.task.settings, near_barrier=MASS_BARRIER)
        try:
            found = self.ladder.solve_on_record("within the limits", problem, start, settings)
            return self._impose_until_kept(
                self._as_attempt(found, limited_arcs), self._most_mass_within_limits
            )
        except NotConverged:
            return self._as_attempt(float("nan"), limited_arcs)

    def impose_limits_elastically(self, attempt: Attempt) -> Attempt:
        """As `impose_limits_directly`, from limits that are eased as far as the solution needs."""
        return self._impose_until_kept(attempt, self._tighten_elastic_limits)

    def _impose_until_kept(self, attempt: Attempt, step: LimitStep) -> Attempt:
        solution, limited_arcs = attempt.found, attempt.limited_arcs
        for _ in range(len(self.sequence.arcs)):
            grown = limited_arcs | self.overloaded_arcs(solution)
            if grown == limited_arcs:
                break
            limited_arcs = grown
            tightened = step(solution, limited_arcs)
            if isinstance(tightened, ElasticSolution):
                return self._attempt_beyond_limits(tightened, limited_arcs)
            if isinstance(tightened, float):
                return self._as_attempt(tightened, limited_arcs)
            solution = tightened
        return replace(self._as_attempt(solution, limited_arcs), keeps_limits=True)

    def impose_limits_without_steps(self, attempt: Attempt) -> Attempt:
        """Impose the limits on loads without steps: the mass within them, or the missing speed."""
        limits = self.task.mission.limits
        return self._impose_until_kept(
            attempt,
            lambda flight, limited_arcs: self._solve(limits, limited_arcs, flight.as_guess()),
        )

    def overloaded_arcs(self, solution: Solution) -> frozenset[str]:
        """Names of the arcs on which a flight breaks a limit on loads, or all but does."""
        limits = self.task.mission.limits
        found = (
            load for load in loads(solution, self.sequence) if load.ratio(limits) > IMPOSED_FROM
        )
        return frozenset(load.arc for load in found)

    def _most_mass_within_limits(
        self, solution: Solution, limited_arcs: frozenset[str]
    ) -> Solution:
        problem = self._transcription(
            self.task.mission.limits, limited_arcs
        ).greatest_mass_problem()
        return self.ladder.solve_on_record(
            "within the limits", problem, solution.as_guess(), self._brief_settings()
        )

    def _tighten_elastic_limits(
        self, solution: Solution, limited_arcs: frozenset[str]
    ) -> Solution | ElasticSolution | float:
        """The greatest mass within the limits, from limits eased as far as the solution needs.

        Where they stay so there is no flight to the orbit within the limits. Where that is not
        solved, the speed in m/s that is missing within them (NaN when that is not known).
        """
        flight = self._transcription(self.task.mission.limits, limited_arcs)
        least = self._least_violation(solution, flight)
        if not isinstance(least, ElasticSolution) or least.excess > NO_EXCESS:
            return least
        problem, start = flight.greatest_mass_problem(), least.solution
        try:
            return self.ladder.solve_on_record(
                "within the limits", problem, start, self._brief_settings()
            )
        except NotConverged:
            pass  # where they hardly can be kept the multipliers of an excess are too large
        try:
            own = start.as_guess()
            return self.ladder.solve_on_record(
                "within the limits", problem, own, self.task.settings
            )
        except NotConverged:
            return float("nan")

    def _least_violation(
        self, solution: Solution, plain: Transcription
    ) -> Solution | ElasticSolution | float:
        """The flight to the orbit that strains the limits least, or else has the greatest mass.

        Where no barrier leads there, what lies near its last iterate within the limits.
        """
        ratio = max(load.ratio(self.task.mission.limits) for load in loads(solution, self.sequence))
        flight, missing = replace(plain, elastic_limits=True), float("nan")
        start = with_load_excess(
            guess_on_sequence(self.sequence, solution), max(log(ratio), 0.0) + EXCESS_MARGIN
        )
        for barrier in ELASTIC_BARRIERS:
            try:
                return self._solve_elastic(
                    "limits", flight, flight.greatest_mass_problem(), start, barrier
                )
            except NotConverged as failure:
                near = self._from_last_iterate(ElasticSolution(failure.solution, flight), plain)
            if isinstance(near, Solution):
                return near
            missing = float(np.fmin(missing, near))
        return missing

    def _from_last_iterate(
        self, iterate: ElasticSolution, flight: Transcription
    ) -> Solution | float:
        """The greatest mass from an iterate that nearly keeps the limits, or the missing speed."""
        problem, settings = flight.least_missing_speed_problem(), self.task.settings
        near = iterate.solution.as_guess()
        brief = replace(
            self._brief_settings(), tolerance=LOOSE_TOLERANCE, near_barrier=ELASTIC_BARRIERS[0]
        )
        try:
            told = "least missing speed within the limits"
            found = self.ladder.solve_on_record(told, problem, near, brief, missing_speed)
            self.nearest_flight = found
            if missing_speed(found) > REACHED:
                return missing_speed(found)
            last = LAST_RESORT_FACTOR * settings.iterations
            further = replace(settings, near_barrier=ELASTIC_BARRIERS[-1], iterations=last)
            start = found.as_guess()
            return self.ladder.solve_on_record(
                "greatest mass", flight.greatest_mass_problem(), start, further
            )
        except NotConverged:
            return self._speed_missing()

    def _solve_elastic(
        self, what: str, flight: Transcription, problem: Problem, start: Guess, barrier: float
    ) -> ElasticSolution:
        settings = replace(self.task.settings, near_barrier=barrier)
        told = f"{what} eased as little as can be"
        return ElasticSolution(
            self.ladder.solve_on_record(told, problem, start, settings, limit_factor), flight
        )

    def _attempt_beyond_limits(
        self, least: ElasticSolution, limited_arcs: frozenset[str]
    ) -> Attempt:
        """The attempt where the orbit strains the limits: how much speed is missing within them.

        Where every flight strains them, wherever it ends, nobody can say.
        """
        nearest, missing = None, float("nan")
        try:
            nearest = self._least_violation_anywhere(least)
            if nearest.excess <= NO_EXCESS:
                missing = self._missing_speed_within_limits(nearest)
        except NotConverged:
            pass  # the orbit's strain is known, and all that will be said
        barred = nearest if nearest is not None and nearest.excess > NO_EXCESS else None
        return replace(
            self._as_attempt(missing, limited_arcs),
            least_violation=least,
            least_violation_anywhere=barred,
        )

    def shortfall_by_elastic_limits(self, short: Solution, limited_arcs: frozenset[str]) -> Attempt:
        """What is missing within the limits, from a flight that falls short and breaks them.

        By limits that are eased as little as can be: barred where they stay so, wherever the
        flight ends; the missing speed is then unknown, as it is where that is not solved.
        """
        flight = replace(
            self._transcription(self.task.mission.limits, limited_arcs), elastic_limits=True
        )
        ratio = max(load.ratio(self.task.mission.limits) for load in loads(short, self.sequence))
        start = with_load_excess(short.as_guess(), max(log(ratio), 0.0) + EXCESS_MARGIN)
        missing, barred, self.nearest_flight = float("nan"), None, None
        try:
            mild = self._solve_elastic(
                WHEREVER, flight, flight.least_missing_speed_problem(), start, ELASTIC_BARRIERS[0]
            )
            if mild.excess <= NO_EXCESS:
                missing = self._missing_speed_within_limits(mild)
            else:
                barred = mild
        except NotConverged:
            pass  # what is missing without the limits is all that will be said
        return replace(self._as_attempt(missing, limited_arcs), least_violation_anywhere=barred)

    def _least_violation_anywhere(self, least: ElasticSolution) -> ElasticSolution:
        """The flight that strains the limits least, or else comes nearest to the orbit.

        Raises:
            NotConverged: as the solver.
        """
        flight, start = least.flight, least.solution.as_guess()
        return self._solve_elastic(
            WHEREVER, flight, flight.least_missing_speed_problem(), start, ELASTIC_BARRIERS[0]
        )

    def _missing_speed_within_limits(self, nearest: ElasticSolution) -> float:
        """The least missing speed within the limits, where eased limits are not eased.

        Raises:
            NotConverged: as the solver.
        """
        problem = replace(nearest.flight, elastic_limits=False).least_missing_speed_problem()
        start, loose = nearest.solution, replace(self.task.settings, tolerance=LOOSE_TOLERANCE)
        what = "least missing speed"
        self.nearest_flight = self.ladder.solve_on_record(
            what, problem, start, loose, missing_speed
        )
        return missing_speed(self.nearest_flight)

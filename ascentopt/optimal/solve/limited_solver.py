"""From a flight that breaks the limits on loads to the best one within them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from math import log

from ascentopt.collocation import Guess, NotConverged, Problem, Solution, SolverSettings
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.elastic_limits import (
    ElasticSolution,
    limit_factor,
    with_limits_before_speed,
    with_load_excess,
)
from ascentopt.optimal.problem.transcription import Transcription, missing_speed
from ascentopt.optimal.problem.violations import IMPOSED_FROM, loads
from ascentopt.optimal.solve.ladder import LOOSE_TOLERANCE, REACHED, Ladder
from ascentopt.optimal.solve.outcome import (
    LimitsStayEased,
    NotReached,
    Outcome,
    Shortfall,
    Unsolved,
    nearer,
    unsolved_near,
)
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.thrust_direction import guess_on_sequence

EXCESS_MARGIN = 0.01
"""More than what a flight breaks the limits by, as a logarithm: it starts inside of the bound."""

NO_EXCESS = 1e-5
"""Logarithm of a factor on the limits that is none: the solver's tolerance leaves 1e-8."""

ELASTIC_BARRIERS = (1e-3, 1e-2)
"""Barriers from which eased limits are brought down, in turn. Of 18 flights that steps towards the
limits did not bring within them the first solves 15, the second 2 of the others."""

LAST_RESORT_FACTOR = 2
"""Times the iterations that the settings allow: there is nothing else to try, and one flight takes
144 to 173 of 150 from here, as rounding has it."""

LimitStep = Callable[[Solution, Transcription], Outcome | LimitsStayEased]
"""From a solution to one of a flight with more limits, the mildest, or what is missing."""


@dataclass(frozen=True, eq=False)
class LimitedSolver:
    """The last steps of an attempt at a structure: the limits on loads."""

    structure: StructureSolver

    @classmethod
    def resumed(cls, task: Task, attempt: Attempt) -> LimitedSolver:
        """Go on where an attempt stands."""
        return cls(StructureSolver.resumed(task, attempt))

    @property
    def _limits(self) -> FlightLimits:
        return self.structure.task.mission.limits

    @property
    def _settings(self) -> SolverSettings:
        """For a step that is not soon given up, but in haste."""
        hasty = self.structure.task.hasty
        return self.structure.brief_settings() if hasty else self.structure.task.settings

    @property
    def _ladder(self) -> Ladder:
        return self.structure.ladder

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
        flight = self.structure.within_limits(attempt.limited_arcs)
        at_hand = self._ladder.greatest_mass_from_flight_at_hand
        try:
            found = self.structure.cooled(flight, start, at_hand)
            if found is None:
                return self.structure.attempt_of(Unsolved(), flight)
            return self._impose_until_kept(
                self.structure.attempt_of(found, flight), self._most_mass_within_limits
            )
        except NotConverged:
            return self.structure.attempt_of(Unsolved(), flight)

    def impose_limits_elastically(self, attempt: Attempt) -> Attempt:
        """As `impose_limits_directly`, from limits that are eased as far as the solution needs."""
        return self._impose_until_kept(attempt, self._tighten_elastic_limits)

    def _impose_until_kept(self, attempt: Attempt, step: LimitStep) -> Attempt:
        solution, flight = attempt.found, self.structure.within_limits(attempt.limited_arcs)
        for _ in flight.sequence.arcs:
            grown = flight.limited_arcs | self.overloaded_arcs(solution)
            if grown == flight.limited_arcs:
                break
            flight = self.structure.within_limits(grown)
            tightened = step(solution, flight)
            if isinstance(tightened, LimitsStayEased):
                return self._attempt_beyond_limits(tightened)
            if not isinstance(tightened, Solution):
                return self.structure.attempt_of(tightened, flight)
            solution = tightened
        return replace(self.structure.attempt_of(solution, flight), keeps_limits=True)

    def overloaded_arcs(self, solution: Solution) -> frozenset[str]:
        """Names of the arcs on which a flight breaks a limit on loads, or all but does."""
        own = loads(solution, self.structure.flight.sequence)
        return frozenset(load.arc for load in own if load.ratio(self._limits) > IMPOSED_FROM)

    def _most_mass_within_limits(self, solution: Solution, flight: Transcription) -> Solution:
        return self._ladder.solve_on_record(
            "within the limits",
            flight.greatest_mass_problem(),
            solution.as_guess(),
            self.structure.brief_settings(),
        )

    def _tighten_elastic_limits(
        self, solution: Solution, flight: Transcription
    ) -> Outcome | LimitsStayEased:
        """The greatest mass within the limits, from limits eased as far as the solution needs.

        Where they stay so there is no flight to the orbit within the limits. Where that is not
        solved, what is missing within them.
        """
        least = self._least_violation(solution, flight)
        if not isinstance(least, LimitsStayEased) or least.mildest.excess > NO_EXCESS:
            return least
        problem, start = flight.greatest_mass_problem(), least.mildest.solution
        try:
            return self._ladder.solve_on_record(
                "within the limits", problem, start, self.structure.brief_settings()
            )
        except NotConverged:
            pass  # where they hardly can be kept the multipliers of an excess are too large
        try:
            own = start.as_guess()
            return self._ladder.solve_on_record("within the limits", problem, own, self._settings)
        except NotConverged:
            return Unsolved(least.nearest)

    def _least_violation(
        self, solution: Solution, plain: Transcription
    ) -> Outcome | LimitsStayEased:
        """The flight to the orbit that strains the limits least, or else has the greatest mass.

        Where no barrier leads there, what lies near its last iterate within the limits.
        """
        flight = replace(plain, elastic_limits=True)
        missing: NotReached = Unsolved()
        start = self._eased(guess_on_sequence(plain.sequence, solution), solution)
        for barrier in ELASTIC_BARRIERS:
            try:
                mildest = self._solve_elastic(
                    "limits", flight, flight.greatest_mass_problem(), start, barrier
                )
                return LimitsStayEased(mildest, missing.nearest)
            except NotConverged as failure:
                near = self._from_last_iterate(ElasticSolution(failure.solution, flight), plain)
            if isinstance(near, Solution):
                return near
            missing = nearer(missing, near)
        return missing

    def _from_last_iterate(self, iterate: ElasticSolution, flight: Transcription) -> Outcome:
        """The greatest mass from an iterate that nearly keeps the limits, or what is missing.

        Not in haste.
        """
        if self.structure.task.hasty:
            return Unsolved()
        problem, settings = flight.least_missing_speed_problem(), self._settings
        found: Solution | None = None
        brief = replace(
            self.structure.brief_settings(),
            tolerance=LOOSE_TOLERANCE,
            near_barrier=ELASTIC_BARRIERS[0],
        )
        try:
            told = "least missing speed within the limits"
            near = iterate.solution.as_guess()
            found = self._ladder.solve_on_record(told, problem, near, brief, missing_speed)
            if missing_speed(found) > REACHED:
                return Shortfall.of(found)
            last = LAST_RESORT_FACTOR * settings.iterations
            further = replace(settings, near_barrier=ELASTIC_BARRIERS[-1], iterations=last)
            start = found.as_guess()
            return self._ladder.solve_on_record(
                "greatest mass", flight.greatest_mass_problem(), start, further
            )
        except NotConverged:
            return unsolved_near(found)

    def _eased(self, start: Guess, flight: Solution) -> Guess:
        """A start, its limits eased by what a flight breaks them by, and a little more."""
        own = loads(flight, self.structure.flight.sequence)
        ratio = max(load.ratio(self._limits) for load in own)
        return with_load_excess(start, max(log(ratio), 0.0) + EXCESS_MARGIN)

    def _solve_elastic(
        self, what: str, flight: Transcription, problem: Problem, start: Guess, barrier: float
    ) -> ElasticSolution:
        settings = replace(self._settings, near_barrier=barrier)
        told = f"{what} eased as little as can be"
        return ElasticSolution(
            self._ladder.solve_on_record(told, problem, start, settings, limit_factor), flight
        )

    def _attempt_beyond_limits(self, least: LimitsStayEased) -> Attempt:
        """The attempt where the orbit strains the limits: how much speed is missing within them.

        Where every flight strains them, wherever it ends, nobody can say; in haste nobody asks.
        """
        if self.structure.task.hasty:
            near = self.structure.attempt_of(Unsolved(least.nearest), least.mildest.flight)
            return replace(near, least_violation=least.mildest)
        flight, start = least.mildest.flight, least.mildest.solution.as_guess()
        found = self._attempt_wherever_it_ends(flight, start, least.nearest)
        return replace(found, least_violation=least.mildest)

    def shortfall_by_elastic_limits(self, short: Solution, limited_arcs: frozenset[str]) -> Attempt:
        """What is missing within the limits, from a flight that falls short and breaks them."""
        flight = replace(self.structure.within_limits(limited_arcs), elastic_limits=True)
        return self._attempt_wherever_it_ends(flight, self._eased(short.as_guess(), short))

    def _attempt_wherever_it_ends(
        self, flight: Transcription, start: Guess, nearest: Solution | None = None
    ) -> Attempt:
        """What is missing within limits that are eased as little as can be, wherever it ends.

        Barred where they stay so; the missing speed is then unknown, as it is where that is not
        solved: what is known without it is all that will be said.
        """
        missing: NotReached = Unsolved(nearest)
        barred: ElasticSolution | None = None
        with suppress(NotConverged):
            mild = self._mildest_anywhere(flight, start)
            if mild.excess <= NO_EXCESS:
                missing = self._missing_speed_within_limits(mild)
            else:
                barred = mild
        found = self.structure.attempt_of(missing, replace(flight, elastic_limits=False))
        return replace(found, least_violation_anywhere=barred)

    def _mildest_anywhere(self, flight: Transcription, start: Guess) -> ElasticSolution:
        """Limits eased as little as can be, wherever the flight ends.

        Where they are not to come nearer to the orbit: from there they come before the speed.

        Raises:
            NotConverged: as the solver.
        """
        problem = flight.least_missing_speed_problem()
        what, (barrier, _) = "limits, wherever the flight ends,", ELASTIC_BARRIERS
        mild = self._solve_elastic(what, flight, problem, start, barrier)
        first = with_limits_before_speed(problem, mild.missing_speed)
        if mild.excess <= NO_EXCESS or first.parameter_values == problem.parameter_values:
            return mild
        return self._solve_elastic(what, flight, first, mild.solution.as_guess(), barrier)

    def _missing_speed_within_limits(self, nearest: ElasticSolution) -> Shortfall:
        """The least missing speed within the limits, where eased limits are not eased.

        Raises:
            NotConverged: as the solver.
        """
        problem = replace(nearest.flight, elastic_limits=False).least_missing_speed_problem()
        start, loose = nearest.solution, replace(self._settings, tolerance=LOOSE_TOLERANCE)
        what = "least missing speed"
        return Shortfall.of(
            self._ladder.solve_on_record(what, problem, start, loose, missing_speed)
        )

"""The ladder by which one program after another is solved: nearest flight, then greatest mass.

Each rung is a program with a start and a barrier; what came out goes on record. Where a rung does
not hold, the next one is told why, and its last iterate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from logging import getLogger

from ascentopt.collocation import (
    Guess,
    NotConverged,
    Problem,
    Solution,
    SolverSettings,
    as_iterate_of,
    solve,
)
from ascentopt.optimal.attempt import is_optimal
from ascentopt.optimal.problem.target.ellipse import with_place_held
from ascentopt.optimal.problem.transcription import missing_speed
from ascentopt.optimal.task import ENOUGH_ITERATIONS, Task

_LOG = getLogger(__name__)

REACHED = 0.5
"""m/s of virtual impulse below which the orbit counts as reached: the second program closes it."""

REACHED_EXACTLY = 0.01
"""m/s of virtual impulse below which a flight reaches the orbit, as far as the solver can tell."""

LOOSE_TOLERANCE = 1e-6
"""Tolerance on the least missing speed: 0.1 mm/s, and a millionth of a radius at the joints."""

MASS_BARRIER = 1e-4
"""Barrier with which the greatest mass is looked for: 1e-6 pins coasts and short burns to bounds
that they have to leave, 1e-2 throws the flight away. Two of four hard cases only solve with it."""

MOVE_BARRIER = 1e-5
"""The same from a flight at hand, told on a structure a move away. The barrier weighs the logarithm
of each arc's length: with 1e-4 as much as a ten-thousandth of the mass at lift-off, which is more
than most moves gain, and what was put in shrinks, or the flight goes where its arcs are alike."""

FIRST_ITERATIONS = 25
"""Of a solve from a good guess, before it goes on with its multipliers: by then it knows them (most
are solved in about so many), and has not strayed yet (with 70 some have)."""

ONWARD_BARRIER = 1e-6
"""Barrier with which a solve goes on, small, but such that bounds which act at the optimum are met
on the way: with a solution's 1e-9 a coast that comes to graze the ground is lost, with 1e-4 too."""

FLIES_PRIMAL, FLIES_DUAL = 1e-4, 1e-3
"""Primal and dual residual of an iterate that is all but a flight, and best but for what costs next
to nothing: a ten-thousandth of a radius is mended in a few iterations."""


class Ladder:
    """The rungs, and the record of those that were tried.

    Args:
        task: whose settings, patience and deadline hold.
        lines: on record so far; each rung adds one.
    """

    def __init__(self, task: Task, lines: tuple[str, ...]) -> None:
        self.task = task
        self._lines = list(lines)

    @property
    def history(self) -> tuple[str, ...]:
        """A line for each rung, and for what was noted between them."""
        return tuple(self._lines)

    @property
    def _near(self) -> SolverSettings:
        """For the greatest mass from a trajectory that is nearly right; soon given up in haste."""
        near = replace(self.task.settings, near_barrier=MASS_BARRIER)
        return near.given_up_after(ENOUGH_ITERATIONS) if self.task.hasty else near

    def note(self, line: str) -> None:
        """Put a line on record."""
        self._lines.append(line)
        _LOG.debug("%s", line)

    def least_missing_speed(
        self, problem: Problem, start: Guess, barrier: float | None
    ) -> Solution:
        """The least missing speed, or a flight that the solver did not improve any more.

        Where nothing is missing there are many such flights and no reason to prefer one: what is
        asked for is one of them, not the last digits of its multipliers.

        Raises:
            NotConverged: when the last iterate is no flight.
        """
        settings = self.task.settings
        loose = replace(
            settings.given_up_after(ENOUGH_ITERATIONS),
            tolerance=LOOSE_TOLERANCE,
            near_barrier=barrier or settings.near_barrier,
        )
        what = "least missing speed"
        try:
            return self.solve_on_record(what, problem, start, loose, missing_speed)
        except NotConverged as failure:
            flight = failure.solution
            if flight.residuals.primal > FLIES_PRIMAL:
                raise
        flies = flight.residuals.primal <= LOOSE_TOLERANCE
        if not flies or missing_speed(flight) > REACHED:  # half way down: on from there
            onward = replace(loose, near_barrier=settings.near_barrier)
            try:
                return self.solve_on_record(what, problem, flight.as_guess(), onward, missing_speed)
            except NotConverged as failure:
                if failure.solution.residuals.primal <= LOOSE_TOLERANCE:
                    flight = failure.solution
                elif not flies:
                    raise
        self.note("the last iterate is a flight, and goes for the nearest")
        return flight

    def least_missing_speed_to_last_digit(
        self, problem: Problem, near: Solution
    ) -> Solution | None:
        """The nearest flight to the last digit; None where it misses by more, or by nothing.

        What it then still misses stays, and no greatest mass is to be found, in hundreds of
        iterations. A miss below a decimetre per second or so may be the barrier's, which a tank
        that is all but empty still feels.
        """
        if not REACHED_EXACTLY < missing_speed(near) <= REACHED:
            return None
        told, settings = "to the last digit", self.task.settings
        try:
            return self.solve_on_record(told, problem, near, settings, missing_speed)
        except NotConverged:
            return None

    def greatest_mass(self, problem: Problem, start: Guess) -> Solution:
        """The greatest mass from a flight that reaches the orbit, a small barrier keeps near it.

        What flies, but creeps, is no optimum, and the attempt says so: it is not thrown away.

        Raises:
            NotConverged: when the last iterate is no flight.
        """
        settings = self.task.settings
        try:
            return self.solve_on_record("greatest mass", problem, start, self._near)
        except NotConverged as failure:
            # In a flat valley (a last burn of seconds) the solver stops just short of its
            # tolerance. Finer meshes start there, and the certificate has the residuals.
            if _flies(failure.solution, settings) and is_optimal(failure.solution):
                self.note("the last iterate all but meets the tolerance, and stands")
                return failure.solution
            onward = self.greatest_mass_onward(problem, failure.solution)
            if onward is not None:
                return onward
            standing = None if self.task.hasty else self._standing(failure.solution)
            if standing is None:
                raise
            return standing

    def greatest_mass_from_good_guess(self, problem: Problem, start: Guess) -> Solution | None:
        """The greatest mass from a guess that all but reaches the orbit; None if not solved."""
        return self._greatest_mass_soon_onward(problem, start, self._near)

    def greatest_mass_from_flight_at_hand(self, problem: Problem, start: Guess) -> Solution | None:
        """The greatest mass from a flight told on a structure a move away; None if not solved."""
        settings = replace(self.task.settings, near_barrier=MOVE_BARRIER)
        return self._greatest_mass_soon_onward(problem, start, settings)

    def _greatest_mass_soon_onward(
        self, problem: Problem, start: Guess, settings: SolverSettings
    ) -> Solution | None:
        first = settings.given_up_after(FIRST_ITERATIONS)
        try:
            return self.solve_on_record("greatest mass", problem, start, first)
        except NotConverged as failure:
            return self.greatest_mass_onward(problem, failure.solution)

    def greatest_mass_onward(self, problem: Problem, iterate: Solution) -> Solution | None:
        """The greatest mass from where a solve was left, by its multipliers; None if not solved.

        With nothing remembered of the way that led there: a filter that has seen better infeasible
        places holds every step back to a thousandth, where a few whole ones arrive.
        """
        brief = self.task.settings.given_up_after(ENOUGH_ITERATIONS)
        settings = replace(brief, barrier=ONWARD_BARRIER)
        try:
            return self.solve_on_record("on with its multipliers", problem, iterate, settings)
        except NotConverged as failure:
            if _flies(failure.solution, settings):
                return self._greatest_mass_from_flight(problem, failure.solution)
            return self.greatest_mass_from_held_place(problem, iterate)

    def _greatest_mass_from_flight(self, problem: Problem, flight: Solution) -> Solution | None:
        """The greatest mass from a flight whose multipliers creep, without them."""
        try:
            return self.solve_on_record("greatest mass", problem, flight.as_guess(), self._near)
        except NotConverged as failure:
            return self._standing(failure.solution)

    def _standing(self, iterate: Solution) -> Solution | None:
        """A last iterate that flies, which is no optimum, as its attempt says; None if not."""
        if not _flies(iterate, self.task.settings):
            return None
        self.note("its last iterate flies, and stands for the greatest mass")
        return iterate

    def greatest_mass_from_held_place(self, problem: Problem, iterate: Solution) -> Solution | None:
        """The greatest mass from an iterate that all but flies, its place on the orbit held first.

        Let go from there, with its multipliers, it takes some 90 iterations where the iterate
        creeps along a valley without end. None where the place is not free or that is not solved,
        and in haste.
        """
        fixed = with_place_held(problem, iterate.free)
        if self.task.hasty or fixed is None or not _all_but_flies(iterate):
            return None
        try:
            told = "greatest mass, held in its place on the orbit"
            held = self.solve_on_record(told, fixed, iterate.as_guess(), self._near)
        except NotConverged:
            return None
        try:
            again = replace(held, problem=problem)
            return self.solve_on_record("let go", problem, again, self.task.settings)
        except NotConverged:
            self.note("it stands in its place")
            return as_iterate_of(problem, held)

    def solve_on_record(
        self,
        what: str,
        problem: Problem,
        start: Guess | Solution,
        settings: SolverSettings,
        measure: Callable[[Solution], float] = lambda solution: solution.objective,
    ) -> Solution:
        """Solve and put the outcome on record, the measure in kg or m/s.

        Raises:
            NotConverged: as the solver.
            TimeIsUp: when no time is left to begin.
        """
        try:
            settings = self.task.in_time(settings)
            solution = solve(problem, start, settings, self.task.remembered)
        except NotConverged as failure:
            self.note(f"{what}: {failure}")
            raise
        self.note(f"{what}: {measure(solution):.6g} in {solution.iterations} iterations")
        return solution


def _all_but_flies(iterate: Solution) -> bool:
    """Whether an iterate is worth going on from."""
    left = iterate.residuals
    return left.primal <= FLIES_PRIMAL and left.dual <= FLIES_DUAL


def _flies(iterate: Solution, settings: SolverSettings) -> bool:
    """Whether it meets every equation and bound, best or not."""
    return iterate.residuals.primal <= settings.tolerance

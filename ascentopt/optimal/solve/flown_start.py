"""The guesses that a plan is begun from, and the flights that they make."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.collocation import Guess
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.ballast import fitting_ballast
from ascentopt.optimal.guess.fairing_drop import arc_and_time_of_drop
from ascentopt.optimal.guess.family_search import InitialGuess, fly_guess, with_virtual_arrival
from ascentopt.optimal.guess.first_mesh import first_meshes
from ascentopt.optimal.guess.flown_arcs import as_guess, cut_at_drop
from ascentopt.optimal.problem.payload_heating import fairing_may_stay_in_orbit, fairing_must_stay
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task

FLOWN_GUESS_BARRIER = 1e-2
"""Barrier with which the least missing speed is looked for from a flown guess. Since the virtual
impulse and shift close what it misses, it is a flight already, if a bad one: to go down from there
step by step takes 15 to 60 iterations where an adaptive barrier, which falls at once, gets lost.
With a free coast it is the other way round: there are few bounds to get lost at."""


FLATTER = 0.6
"""Of the altitude, what a second guess aims at: low enough to be another flight."""


def first_guess(plan: FlightPlan) -> InitialGuess:
    """The guess to begin a plan with."""
    coasts = plan.restarts > 0 or plan.inserting_stage in plan.coast_before
    return InitialGuess(solver_may_stray=coasts)


def second_guess(plan: FlightPlan) -> InitialGuess:
    """The one to go on with where the first does not arrive: a flatter flight."""
    return replace(first_guess(plan), altitude_factor=FLATTER)


@dataclass(frozen=True, eq=False)
class FlownStart:
    """A structure with a guess that was flown for it.

    Args:
        solver: of the structure, the fairing's drop placed where the flight may have it.
        guess: the flight.
        dropping: the guess, where the fairing goes on the way; None where it stays on.
    """

    solver: StructureSolver
    guess: Guess
    dropping: InitialGuess | None

    @classmethod
    def flown(
        cls,
        task: Task,
        plan: FlightPlan,
        start: InitialGuess,
        lines: tuple[str, ...],
        *,
        keep_fairing: bool = False,
    ) -> FlownStart:
        """Fly a guess, place the fairing's drop by it and choose meshes.

        Where the orbit is hot all round, or ``keep_fairing``, the fairing does not go.
        """
        vehicle, mission, planned = task.vehicle, task.mission, plan.fairing_arc is not None
        bare = replace(plan, fairing_arc=None)
        sequence = task.arcs_of(bare)
        loaded = sequence
        if sequence.ballasted:
            aboard = fitting_ballast(vehicle, mission, bare, start)
            loaded = task.arcs_of(replace(bare, ballast=aboard))
        flown = fly_guess(loaded, mission, start)
        goes = not (keep_fairing or fairing_must_stay(mission, vehicle.fairing))
        if vehicle.fairing is not None and goes:
            limit = vehicle.fairing.max_heating
            arc, at = arc_and_time_of_drop(sequence, flown, plan, limit)
            plan = replace(plan, fairing_arc=arc)
            sequence = task.arcs_of(plan)
            flown = cut_at_drop(flown, sequence, at)
        meshes, airless = first_meshes(sequence, flown), mission.body.atmosphere is None
        near = not start.solver_may_stray
        guess = with_virtual_arrival(as_guess(flown, mission), mission, near=near)
        solver = StructureSolver.begun(task, plan, meshes, lines, needs_ground_clearance=airless)
        return cls(solver, guess, start if goes and not planned else None)

    def solve(self) -> Attempt:
        """Without limits on loads; the fairing on where parts of the orbit are hot, if better.

        Not where the plan said when it goes.
        """
        attempt = self.solver.solve_without_load_limits(self.guess, FLOWN_GUESS_BARRIER)
        task = self.solver.task
        if self.dropping is None or not fairing_may_stay_in_orbit(
            task.mission, task.vehicle.fairing
        ):
            return attempt
        told = (*self.solver.history, "the fairing carried into the orbit, parts of which are hot")
        bare = replace(attempt.plan, fairing_arc=None)
        other = FlownStart.flown(task, bare, self.dropping, told, keep_fairing=True).solve()
        return other if other.rank > attempt.rank else replace(attempt, history=other.history)

    def solve_within_limits(self, arcs: frozenset[str]) -> Attempt:
        """With the limits on loads on these arcs from the first solve on, and wherever they act."""
        within = self.solver.written_near(self.guess).within_limits(arcs)
        found = self.solver.solve(within, self.guess, FLOWN_GUESS_BARRIER)
        attempt = self.solver.attempt_of(found, within)
        if not attempt.reached:
            return attempt
        solver = LimitedSolver.resumed(self.solver.task, attempt)
        return solver.impose_limits_directly(attempt) or attempt

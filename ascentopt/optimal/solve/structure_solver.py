"""The steps by which one structure of the flight is solved, limits on loads last."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from ascentopt.collocation import (
    Guess,
    NotConverged,
    Problem,
    RadauMesh,
    Solution,
    SolverSettings,
)
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.motor_acceleration import motors_that_need_drag
from ascentopt.optimal.guess.first_mesh import mesh_of_part, outgrown
from ascentopt.optimal.problem.full_throttle import (
    burns_at_full_throttle,
    burns_wanting_throttle,
)
from ascentopt.optimal.problem.payload_heating import (
    heating_at,
)
from ascentopt.optimal.problem.phase_model import arcs_worth_elements
from ascentopt.optimal.problem.transcription import (
    Transcription,
    clearance,
    lead_of,
    led_by,
    missing_speed,
)
from ascentopt.optimal.problem.violations import (
    leans_on_drag,
    loads,
    without_load_limits,
)
from ascentopt.optimal.solve.ladder import REACHED, REACHED_EXACTLY, Ladder
from ascentopt.optimal.solve.outcome import Outcome, Shortfall, Unsolved, unsolved_near
from ascentopt.optimal.task import ENOUGH_ITERATIONS, Task

FLUNG = 1e4
"""Radii of the body beyond which a guess is no flight: no planet or moon holds an orbit that far
from its parent."""


@dataclass(frozen=True, eq=False, kw_only=True)
class StructureSolver:
    """The solves of one structure, each of them put on record.

    Args:
        task: vehicle, mission and patience.
        plan: burns and coasts.
        flight: the structure on its meshes, within the mission's limits, none of which is imposed
            on an arc yet.
        ladder: takes the steps, and keeps the record.
    """

    task: Task
    plan: FlightPlan
    flight: Transcription
    ladder: Ladder

    @classmethod
    def begun(
        cls,
        task: Task,
        plan: FlightPlan,
        meshes: tuple[RadauMesh, ...],
        lines: tuple[str, ...],
        *,
        needs_ground_clearance: bool,
    ) -> Self:
        """Begin a structure on meshes, one for each arc; ``lines`` say what led here."""
        flight = Transcription(
            vehicle=task.vehicle,
            mission=task.mission,
            sequence=task.arcs_of(plan),
            meshes=meshes,
            limited_arcs=frozenset(),
            needs_ground_clearance=needs_ground_clearance,
        )
        return cls(task=task, plan=plan, flight=flight, ladder=Ladder(task, lines))

    @classmethod
    def begun_from(
        cls,
        attempt: Attempt,
        task: Task,
        plan: FlightPlan,
        meshes: tuple[RadauMesh, ...],
        lines: tuple[str, ...],
    ) -> Self:
        """As `begun`, kept from the ground where the attempt was whose flight it starts from."""
        clear = attempt.needs_ground_clearance
        return cls.begun(task, plan, meshes, lines, needs_ground_clearance=clear)

    @classmethod
    def resumed(cls, task: Task, attempt: Attempt) -> Self:
        """Go on where an attempt stands, be it at another vehicle or mission."""
        meshes = tuple(arc.mesh for arc in attempt.found.problem.arcs)
        solver = cls.begun_from(attempt, task, attempt.plan, meshes, attempt.history)
        return replace(solver, flight=solver.flight.written_as(attempt.found))

    @property
    def history(self) -> tuple[str, ...]:
        """What led here, and a line for each program solved."""
        return self.ladder.history

    def solve_without_load_limits(self, guess: Guess, barrier: float | None = None) -> Attempt:
        """Solve from the guess; the limits on loads come later, from a flight that works.

        ``barrier`` is for a guess that is near, and the smaller the less it may change.
        """
        flight = self._without_load_limits_near(guess)
        if self._is_flung_away(guess):
            self.ladder.note("the guess falls through the body's centre, and is none")
            return self.attempt_of(Unsolved(), flight)
        found = self.solve(flight, guess, barrier)
        if self._leans_on_drag(found):
            self.ladder.note("drag holds back what thrust accelerates too much: without its help")
            flight = replace(flight, without_help_of_drag=True)
            found = self.solve(flight, guess, barrier)
        if isinstance(found, Unsolved) and not self.task.hasty and self._is_hot(guess):
            found = self._solve_with_payload_hot_at_first(flight, guess, barrier)
        if (
            isinstance(found, Solution)
            and not flight.needs_ground_clearance
            and self._comes_too_low(found)
        ):
            flight = replace(flight, needs_ground_clearance=True)
            self.ladder.note("the flight meets the ground: kept above it")
            found = self.solve(flight, guess, barrier)
        return self._attempt_on_meshes_that_fit(found, flight)

    def _is_flung_away(self, guess: Guess) -> bool:
        """Whether steps past the body's centre have thrown a guess to where no orbit is."""
        far = FLUNG * self.task.mission.body.radius
        return any(not np.abs(own.states[:, :3]).max() < far for own in guess.arcs)

    def _without_load_limits_near(self, guess: Guess) -> Transcription:
        """The flight without limits on loads, as `written_near` a guess."""
        mission = self.task.mission
        free = replace(mission, limits=without_load_limits(mission.limits))
        return replace(self.written_near(guess).flight, mission=free)

    def written_near(self, guess: Guess) -> Self:
        """The same in elements from a guess's long coast on, and held to what it is held to."""
        sequence, limit = self.flight.sequence, self.task.mission.limits.axial_acceleration
        flight = replace(
            self.flight,
            in_elements=arcs_worth_elements(sequence, guess),
            full_throttle=burns_at_full_throttle(sequence, guess, limit),
        )
        return replace(self, flight=flight)

    def _attempt_on_meshes_that_fit(self, found: Outcome, flight: Transcription) -> Attempt:
        """The attempt on meshes that fit its burns, where they have outgrown theirs.

        It stands where those are not solved: refinement then has more to do.
        """
        if not isinstance(found, Solution):
            return self.attempt_of(found, flight)
        found, flight = self._throttled_where_pushed(found, flight)
        trios = zip(flight.sequence.arcs, flight.meshes, found.arcs, strict=True)
        meshes = tuple(
            mesh_of_part(arc, own.duration) if outgrown(arc, mesh, own.duration) else mesh
            for arc, mesh, own in trios
        )
        if meshes != flight.meshes:
            problem = replace(flight, meshes=meshes).greatest_mass_problem()
            with suppress(NotConverged):
                found = self.ladder.solve_on_record(
                    "on meshes that fit", problem, found, self.brief_settings()
                )
        return self.attempt_of(found, flight)

    def _leans_on_drag(self, found: Outcome) -> bool:
        """Whether a flight found does, of a vehicle that can do without."""
        near = found if isinstance(found, Solution) else found.nearest
        vehicle, mission = self.task.vehicle, self.task.mission
        if near is None or not leans_on_drag(near, self.flight.sequence, mission.limits):
            return False
        return not any(motors_that_need_drag(vehicle, mission))

    def _throttled_where_pushed(
        self, found: Solution, flight: Transcription
    ) -> tuple[Solution, Transcription]:
        """The same with a throttle in burns held at full where the limit on acceleration acts.

        They stand where that is not solved: a flight within the limit, if not the best.
        """
        limit, held = flight.mission.limits.axial_acceleration, flight.full_throttle
        pushed = burns_wanting_throttle(flight.sequence, found, limit, held)
        if not pushed:
            return found, flight
        freed = replace(flight, full_throttle=held - pushed)
        problem = freed.greatest_mass_problem()
        with suppress(NotConverged):
            told = "throttled where the limit on acceleration acts"
            return self.ladder.solve_on_record(told, problem, found, self.brief_settings()), freed
        return found, flight

    def _is_hot(self, guess: Guess) -> bool:
        """Whether a guess heats its payload beyond what it bears; else that is no obstacle."""
        sequence = self.flight.sequence
        pairs = zip(sequence.arcs, guess.arcs, strict=True)
        bare = [(arc, own) for arc, own in pairs if arc.name in sequence.exposed]
        limit = self.task.vehicle.max_heating
        return any(heating_at(a.kind, own.states[:, :7]).max() > limit for a, own in bare)

    def _solve_with_payload_hot_at_first(
        self, flight: Transcription, guess: Guess, barrier: float | None
    ) -> Outcome:
        """As `solve`, from the flight whose payload may be heated after the fairing's drop.

        Not the first thing to do: such a flight drops its fairing in hot air, and from there it
        takes three times the iterations that it takes from a guess, whose payload stays cool.
        """
        self.ladder.note("its payload heated without limit")
        found = self.solve(replace(flight, payload_kept_cool=False), guess, barrier)
        if isinstance(found, Unsolved):
            return found
        hot = found.nearest if isinstance(found, Shortfall) else found
        self.ladder.note("from there, with what the payload bears")
        return self.solve(flight, hot.as_guess(), barrier)

    def solve_from_flight_at_hand(self, guess: Guess) -> Attempt:
        """Without limits on loads, from a flight told on this structure, whose payload may be hot.

        By all means there are where that leads nowhere.
        """
        flight = self._without_load_limits_near(guess)
        found = self.cooled(flight, guess, self.ladder.greatest_mass_from_good_guess)
        if found is None:
            return self.solve_without_load_limits(guess)
        return self._attempt_on_meshes_that_fit(found, flight)

    def cooled(
        self,
        flight: Transcription,
        guess: Guess,
        solve: Callable[[Problem, Guess], Solution | None],
    ) -> Solution | None:
        """The greatest mass from a flight whose payload may be heated beyond what it bears.

        So heated first, and cooled from there: at once it is a violation by powers of ten, which
        solves are led astray by, and rounding decides whether they come back.
        """
        if self._is_hot(guess):
            hot = solve(replace(flight, payload_kept_cool=False).greatest_mass_problem(), guess)
            if hot is not None:
                self.ladder.note("from there, with what the payload bears")
                return solve(flight.greatest_mass_problem(), hot.as_guess())
        return solve(flight.greatest_mass_problem(), guess)

    def solve_from_good_guess(self, guess: Guess) -> Attempt:
        """Without limits on loads, from a guess that all but reaches the orbit, and is good."""
        flight = self._without_load_limits_near(guess)
        solved = self.ladder.greatest_mass_from_good_guess(flight.greatest_mass_problem(), guess)
        found: Outcome = self.solve(flight, guess) if solved is None else solved
        return self._attempt_on_meshes_that_fit(found, flight)

    def solve_again(self, attempt: Attempt) -> Attempt:
        """From an attempt with its multipliers; where that is not solved, without them.

        Out of reach it says how much speed is missing.
        """
        limits, start = self.task.mission.limits, attempt.found.as_guess()
        return self.solve_with_multipliers_of(attempt) or self.solve_from_guess(
            limits, attempt.limited_arcs, start
        )

    def solve_with_multipliers_of(
        self, attempt: Attempt, *, all_iterations: bool = False
    ) -> Attempt | None:
        """Solve with the limits on the arcs that an attempt watches, from its solution.

        With its multipliers, and the lead of its plan: the example's payload changed by half takes
        30 iterations so, and 70 to 150, if it is solved at all, from the flight alone. None where
        that is not solved.
        """
        flight = self.within_limits(attempt.limited_arcs)
        problem = led_by(flight.greatest_mass_problem(), lead_of(attempt.found.problem))
        settings = self.task.settings if all_iterations else self.brief_settings()
        try:
            found = self.ladder.solve_on_record("mass", problem, attempt.found, settings)
        except NotConverged:
            return None
        return self.attempt_of(found, flight)

    def brief_settings(self) -> SolverSettings:
        """For a step that is soon given up."""
        return self.task.settings.given_up_after(ENOUGH_ITERATIONS)

    def solve_from_guess(
        self, limits: FlightLimits, limited_arcs: frozenset[str], start: Guess
    ) -> Attempt:
        """The greatest mass, or the least missing speed, under these limits."""
        mission = replace(self.task.mission, limits=limits)
        flight = replace(self.within_limits(limited_arcs), mission=mission)
        return self.attempt_of(self.solve(flight, start), flight)

    def _comes_too_low(self, solution: Solution) -> bool:
        """Whether the flight comes lower after the pitch-over than it may."""
        sequence = self.flight.sequence
        pairs = zip(loads(solution, sequence), sequence.arcs, strict=True)
        lowest = min(load.lowest_altitude for load, arc in pairs if arc.rise is None)
        return lowest < clearance(self.task.mission) - 1.0

    def solve(self, flight: Transcription, guess: Guess, barrier: float | None = None) -> Outcome:
        """A solution, or what is missing.

        First the least missing speed, which every guess can be improved towards; where it is
        nothing, the flight found is feasible and the mass is made greatest from there.
        """
        ladder = self.ladder
        near: Solution | None = None
        problem = flight.least_missing_speed_problem()
        try:
            near = ladder.least_missing_speed(problem, guess, barrier)
            closer = ladder.least_missing_speed_to_last_digit(problem, near)
            near = near if closer is None else closer
            missing = missing_speed(near)
            if missing > REACHED or (closer is not None and missing > REACHED_EXACTLY):
                return Shortfall(missing, near)
            return ladder.greatest_mass(flight.greatest_mass_problem(), near.as_guess())
        except NotConverged:
            return unsolved_near(near)

    def within_limits(self, limited_arcs: frozenset[str]) -> Transcription:
        """The flight with the limits that need air on these arcs."""
        return replace(self.flight, limited_arcs=limited_arcs)

    def attempt_of(self, found: Outcome, flight: Transcription) -> Attempt:
        """The attempt with a solution of a flight, or with what is missing."""
        attempt = Attempt(
            plan=self.plan,
            sequence=flight.sequence,
            solution=None,
            limited_arcs=flight.limited_arcs,
            shortfall=None,
            history=self.history,
            needs_ground_clearance=flight.needs_ground_clearance,
        )
        if isinstance(found, Solution):
            return replace(attempt, solution=found, shortfall=0.0)
        missing = found.speed if isinstance(found, Shortfall) else None
        return replace(attempt, shortfall=missing, nearest_flight=found.nearest)


def has_known_outcome(attempt: Attempt) -> bool:
    """Whether an attempt arrives, or misses by more than what may be the barrier's."""
    return attempt.reached or (attempt.shortfall or 0.0) > REACHED

"""The steps by which one structure of the flight is solved, limits on loads last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from ascentopt.collocation import (
    Guess,
    NotConverged,
    Outcome,
    Problem,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    restated,
    solve,
)
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import FlightLimits, Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.deadline import Deadline
from ascentopt.optimal.guess.ballast import fitting_ballast
from ascentopt.optimal.guess.fairing_drop import place_of_the_drop
from ascentopt.optimal.guess.family_search import Start, arriving, fly_guess
from ascentopt.optimal.guess.first_mesh import first_meshes, mesh_outside, outgrown
from ascentopt.optimal.guess.flown_arcs import as_guess, cut
from ascentopt.optimal.problem.payload_heating import heating_at, may_stay, must_stay
from ascentopt.optimal.problem.target_ellipse import held_in_place
from ascentopt.optimal.problem.transcription import Transcription, clearance, missing_speed
from ascentopt.optimal.problem.violations import loads, without_loads
from ascentopt.rocket import Vehicle

REACHED = 0.5
"""m/s of virtual impulse below which the orbit counts as reached: the second program closes it."""

CLOSED = 0.01
"""m/s of virtual impulse below which a flight reaches the orbit, as far as the solver can tell."""

LOOSE = 1e-6
"""Tolerance on the least missing speed: 0.1 mm/s, and a millionth of a radius at the joints."""

HEAVIER = 1e-4
"""Barrier with which the greatest mass is looked for: 1e-6 pins coasts and short burns to bounds
that they have to leave, 1e-2 throws the flight away. Two of four hard cases only solve with it."""

FLIES, CREEPS = 1e-4, 1e-3
"""Primal and dual residual of an iterate that is all but a flight, and best but for what costs next
to nothing: a ten-thousandth of a radius is mended in a few iterations."""

PATIENCE = 70
"""Iterations after which a guess is given up for another one: nine of ten that lead anywhere take
50 or fewer, and one that does not costs the time of five that do."""

AFAR = 1e-2
"""Barrier with which the least missing speed is looked for from a flown guess. Since the virtual
impulse and shift close what it misses, it is a flight already, if a bad one: to go down from there
step by step takes 15 to 60 iterations where an adaptive barrier, which falls at once, gets lost.
With a free coast, or without air, it is the other way round: there are few bounds to get lost at
(into an airless ellipse 10 to 16 iterations, where step by step 70 do not do)."""

STRIDE = 70
"""Iterations after which a step towards the limits is given up; good ones take 10 to 60."""


@dataclass(frozen=True, kw_only=True)
class Task:
    """A vehicle, a mission and the patience to solve for them.

    ``patience`` is how many iterations the least missing speed may take, ``deadline`` when no
    solve may begin any more; ``exhaustive`` is whether every structure is solved for, from every
    start.
    """

    vehicle: Vehicle
    mission: Mission
    settings: SolverSettings
    refinement: Refinement
    patience: int = PATIENCE
    deadline: Deadline = Deadline()
    exhaustive: bool = False


class Run:
    """The steps of one attempt; ``lines`` grows as they are taken."""

    def __init__(
        self,
        task: Task,
        sequence: Sequence,
        plan: FlightPlan,
        meshes: tuple[RadauMesh, ...],
        lines: tuple[str, ...],
        *,
        low: bool,
    ) -> None:
        self.task, self.sequence, self.plan = task, sequence, plan
        self.meshes, self.lines, self.low = meshes, list(lines), low
        self.nearest: Solution | None = None
        self.cool = True
        self.begun_by: Start | None = None

    @classmethod
    def begun(
        cls, task: Task, plan: FlightPlan, start: Start, lines: tuple[str, ...], *, on: bool = False
    ) -> tuple[Run, Guess]:
        """Fly a guess, place the fairing's drop by it and choose meshes.

        Where the orbit is hot all round, or it is to stay ``on``, the fairing does not go.
        """
        vehicle, mission = task.vehicle, task.mission
        bare = replace(plan, fairing_arc=None)
        sequence = sequence_of(vehicle, mission, bare)
        loaded = sequence
        if sequence.ballasted:
            aboard = fitting_ballast(vehicle, mission, bare, start)
            loaded = sequence_of(vehicle, mission, replace(bare, ballast=aboard))
        flown = fly_guess(loaded, mission, vehicle.fairing, start)
        goes = not (on or must_stay(mission, vehicle.fairing))
        if vehicle.fairing is not None and goes:
            limit = vehicle.fairing.max_heating
            arc, at = place_of_the_drop(sequence, flown, plan, limit, climbs=not start.to_the_top)
            plan = replace(plan, fairing_arc=arc)
            sequence = sequence_of(vehicle, mission, plan)
            flown = cut(flown, sequence, at)
        meshes, airless = first_meshes(sequence, flown), mission.body.atmosphere is None
        guess = arriving(as_guess(flown, mission), mission, near=not (start.bold or airless))
        run = cls(task, sequence, plan, meshes, lines, low=airless)
        run.begun_by = start if goes else None
        return run, guess

    @classmethod
    def resumed(cls, task: Task, attempt: Attempt) -> Self:
        """Go on where an attempt stands."""
        meshes = tuple(arc.mesh for arc in attempt.found.problem.arcs)
        return cls(task, attempt.sequence, attempt.plan, meshes, attempt.history, low=attempt.low)

    def without_loads(self, guess: Guess, barrier: float | None = AFAR) -> Attempt:
        """Solve from the guess; the limits on loads come later, from a flight that works.

        ``barrier`` is for a guess that is near, and the smaller the less it may change.
        """
        free = without_loads(self.task.mission.limits)
        found = self._solve(free, frozenset(), guess, barrier)
        if isinstance(found, float) and np.isnan(found) and self._is_hot(guess):
            found = self._hot_at_first(guess, barrier)
        if not isinstance(found, float) and not self.low and self._grazes(found):
            self.low = True
            self.lines.append("the flight meets the ground: kept above it")
            found = self._solve(free, frozenset(), guess, barrier)
        found = self._on_meshes_that_fit(found)
        return self._or_with_its_fairing(self._outcome(found, frozenset()), barrier)

    def _on_meshes_that_fit(self, found: Solution | float) -> Solution | float:
        """The solution on meshes that fit its burns, where they have outgrown theirs.

        It stands where those are not solved: refinement then has more to do.
        """
        if isinstance(found, float):
            return found
        trios = zip(self.sequence.arcs, self.meshes, found.arcs, strict=True)
        meshes = tuple(
            mesh_outside(arc, own.duration) if outgrown(arc, mesh, own.duration) else mesh
            for arc, mesh, own in trios
        )
        if meshes == self.meshes:
            return found
        before, self.meshes = self.meshes, meshes
        problem = self._transcription(without_loads(self.task.mission.limits), frozenset())
        try:
            return self._logged("on meshes that fit", problem.most_mass(), found, self._brief())
        except NotConverged:
            self.meshes = before
            return found

    def _or_with_its_fairing(self, attempt: Attempt, barrier: float | None) -> Attempt:
        """The attempt, or the same burns with the fairing on, where parts of the orbit are hot."""
        start, task = self.begun_by, self.task
        if start is None or not may_stay(task.mission, task.vehicle.fairing):
            return attempt
        told = (*self.lines, "the fairing carried into the orbit, parts of which are hot")
        run, guess = Run.begun(task, replace(attempt.plan, fairing_arc=None), start, told, on=True)
        other = run.without_loads(guess, barrier)
        return other if other.rank > attempt.rank else replace(attempt, history=other.history)

    def _is_hot(self, guess: Guess) -> bool:
        """Whether a guess heats its payload beyond what it bears; else that is no obstacle."""
        pairs = zip(self.sequence.arcs, guess.arcs, strict=True)
        bare = [(arc, own) for arc, own in pairs if arc.name in self.sequence.exposed]
        limit = self.task.vehicle.max_heating
        return any(heating_at(a.kind, own.states[:, :7]).max() > limit for a, own in bare)

    def _hot_at_first(self, guess: Guess, barrier: float | None) -> Solution | float:
        """As `_solve`, from the flight whose payload may be heated after the fairing's drop.

        Not the first thing to do: such a flight drops its fairing in hot air, and from there it
        takes three times the iterations that it takes from a guess, whose payload stays cool.
        """
        free = without_loads(self.task.mission.limits)
        self.cool = False
        self.lines.append("its payload heated without limit")
        found = self._solve(free, frozenset(), guess, barrier)
        self.cool = True
        flight = self.nearest if isinstance(found, float) else found
        if flight is None or (isinstance(found, float) and np.isnan(found)):
            return float("nan")
        self.lines.append("from there, with what the payload bears")
        return self._solve(free, frozenset(), flight.as_guess(), barrier)

    def onward(self, guess: Guess) -> Attempt:
        """As `without_loads`, from a guess that all but reaches the orbit, and is good."""
        free, near = (
            without_loads(self.task.mission.limits),
            replace(self._brief(), near_barrier=HEAVIER),
        )
        problem = self._transcription(free, frozenset()).most_mass()
        try:
            found: Solution | float = self._logged("greatest mass", problem, guess, near)
        except NotConverged as failure:
            held = self._held(problem, failure.solution)
            found = self._solve(free, frozenset(), guess) if held is None else held
        return self._outcome(self._on_meshes_that_fit(found), frozenset())

    def again(self, attempt: Attempt) -> Attempt:
        """As `followed`; where that is too far off, or out of reach, how much speed is missing."""
        limits, start = self.task.mission.limits, attempt.found.as_guess()
        return self.followed(attempt) or self.solved(limits, attempt.watched, start)

    def followed(self, attempt: Attempt, *, patiently: bool = False) -> Attempt | None:
        """Solve with the limits on the arcs that an attempt watches, from its solution.

        With its multipliers: the example's payload changed by half takes 30 iterations so, and 70
        to 150, if it is solved at all, from the flight alone. None where that is not solved.
        """
        limits, watched = self.task.mission.limits, attempt.watched
        problem = self._transcription(limits, watched).most_mass()
        settings = self.task.settings if patiently else self._brief()
        try:
            found = self._logged("mass", problem, attempt.found, settings)
        except NotConverged:
            return None
        return self._outcome(found, watched)

    def _brief(self) -> SolverSettings:
        settings = self.task.settings
        return replace(settings, iterations=min(STRIDE, settings.iterations))

    def solved(self, limits: FlightLimits, watched: frozenset[str], start: Guess) -> Attempt:
        """The greatest mass, or the least missing speed, under these limits."""
        return self._outcome(self._solve(limits, watched, start), watched)

    def _grazes(self, solution: Solution) -> bool:
        """Whether the flight comes lower after the pitch-over than it may."""
        pairs = zip(loads(solution, self.sequence), self.sequence.arcs, strict=True)
        lowest = min(load.lowest for load, arc in pairs if arc.rise is None)
        return lowest < clearance(self.task.mission) - 1.0

    def _solve(
        self,
        limits: FlightLimits,
        watched: frozenset[str],
        start: Guess,
        barrier: float | None = None,
    ) -> Solution | float:
        """A solution, or the speed in m/s that is missing (NaN when that is not known).

        First the least missing speed, which every guess can be improved towards; where it is
        nothing, the flight found is feasible and the mass is made greatest from there.
        """
        flight, self.nearest = self._transcription(limits, watched), None
        try:
            self.nearest = self._nearest(flight.least_impulse(), start, barrier)
            missing = missing_speed(self.nearest)
            if missing > REACHED or self._just_misses(flight.least_impulse()):
                return missing_speed(self.nearest)
            return self._heaviest(flight.most_mass(), self.nearest.as_guess())
        except NotConverged:
            return self._missed()

    def _just_misses(self, problem: Problem) -> bool:
        """Whether what little the nearest flight misses stays when it is solved to the last digit.

        Then no greatest mass is to be found, in hundreds of iterations. A miss below a decimetre
        per second or so may be the barrier's, which a tank that is all but empty still feels.
        """
        near = self.nearest
        if near is None or not CLOSED < missing_speed(near) <= REACHED:
            return False
        try:
            closer = self._logged(
                "to the last digit", problem, near, self.task.settings, missing_speed
            )
        except NotConverged:
            return False
        self.nearest = closer
        return missing_speed(closer) > CLOSED

    def _missed(self) -> float:
        """Speed in m/s by which the nearest flight misses; NaN when there is none, or it does not.

        Where it misses by little the greatest mass may be unsolved since there is none.
        """
        missing = float("nan") if self.nearest is None else missing_speed(self.nearest)
        return missing if missing > CLOSED else float("nan")

    def _transcription(self, limits: FlightLimits, watched: frozenset[str]) -> Transcription:
        return Transcription(
            vehicle=self.task.vehicle,
            mission=replace(self.task.mission, limits=limits),
            sequence=self.sequence,
            meshes=self.meshes,
            watched=watched,
            low=self.low,
            cool=self.cool,
        )

    def _nearest(self, problem: Problem, start: Guess, barrier: float | None) -> Solution:
        """The least missing speed, or a flight that the solver did not improve any more.

        Where nothing is missing there are many such flights and no reason to prefer one: what is
        asked for is one of them, not the last digits of its multipliers.

        Raises:
            NotConverged: when the last iterate is no flight.
        """
        settings = self.task.settings
        loose = replace(
            settings,
            tolerance=LOOSE,
            iterations=min(self.task.patience, settings.iterations),
            near_barrier=barrier or settings.near_barrier,
        )
        what = "least missing speed"
        try:
            return self._logged(what, problem, start, loose, missing_speed)
        except NotConverged as failure:
            flight = failure.solution
            if flight.residuals.primal > LOOSE:
                raise
        if missing_speed(flight) > REACHED:  # half way down: on from there
            onward = replace(loose, near_barrier=settings.near_barrier)
            try:
                return self._logged(what, problem, flight.as_guess(), onward, missing_speed)
            except NotConverged as failure:
                if failure.solution.residuals.primal <= LOOSE:
                    flight = failure.solution
        self.lines.append("the last iterate is a flight, and goes for the nearest")
        return flight

    def _heaviest(self, problem: Problem, start: Guess) -> Solution:
        """The greatest mass from a flight that reaches the orbit.

        A small barrier keeps near the flight; where that leads nowhere, an adaptive one strays.

        Raises:
            NotConverged: when neither is solved.
        """
        settings = self.task.settings
        near = replace(settings, near_barrier=HEAVIER)
        try:
            return self._logged("greatest mass", problem, start, near)
        except NotConverged as failure:
            if _all_but_solved(failure.solution, settings.tolerance):
                self.lines.append("the last iterate all but meets the tolerance, and stands")
                return failure.solution
            held = self._held(problem, failure.solution)
            if held is not None:
                return held
            return self._astray(problem, start, failure.solution)

    def _astray(self, problem: Problem, start: Guess, iterate: Solution) -> Solution:
        """The greatest mass with an adaptive barrier; where it creeps, the best flight on the way.

        That is no optimum, and the attempt says so: but what flies is not thrown away.

        Raises:
            NotConverged: when neither its last iterate nor the one before is a flight.
        """
        stray, settings = replace(start, near=False), self.task.settings
        try:
            return self._logged("greatest mass, further away", problem, stray, settings)
        except NotConverged as failure:
            last = (iterate, failure.solution)
            flights = [one for one in last if one.residuals.primal <= settings.tolerance]
            if not flights:
                raise
            self.lines.append("its last iterate flies, and stands for the greatest mass")
            return min(flights, key=lambda one: one.objective)

    def _held(self, problem: Problem, iterate: Solution) -> Solution | None:
        """The greatest mass from an iterate that all but flies, its place on the orbit held first.

        Let go from there, with its multipliers, it takes some 90 iterations where the iterate
        creeps along a valley without end. None where the place is not free or that is not solved.
        """
        fixed = held_in_place(problem, iterate.free)
        if fixed is None or not _all_but_flies(iterate):
            return None
        settings, near = self.task.settings, replace(self.task.settings, near_barrier=HEAVIER)
        try:
            told = "greatest mass, held in its place on the orbit"
            held = self._logged(told, fixed, iterate.as_guess(), near)
        except NotConverged:
            return None
        try:
            return self._logged("let go", problem, replace(held, problem=problem), settings)
        except NotConverged:
            self.lines.append("it stands in its place")
            return restated(problem, held)

    def _logged(
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
            solution = solve(problem, start, self.task.deadline.settings(settings))
        except NotConverged as failure:
            pass_on_interrupt(failure)
            self.lines.append(f"{what}: {failure}")
            raise
        self.lines.append(f"{what}: {measure(solution):.6g} in {solution.iterations} iterations")
        return solution

    def _outcome(self, found: Solution | float, watched: frozenset[str]) -> Attempt:
        """The attempt with a solution, or with the speed in m/s that is missing (NaN: unknown)."""
        missing = found if isinstance(found, float) else 0.0
        return Attempt(
            plan=self.plan,
            sequence=self.sequence,
            solution=None if isinstance(found, float) else found,
            watched=watched,
            shortfall=None if np.isnan(missing) else missing,
            history=tuple(self.lines),
            low=self.low,
            nearest=self.nearest if isinstance(found, float) else None,
        )


def _all_but_flies(iterate: Solution) -> bool:
    """Whether an iterate is worth going on from."""
    left = iterate.residuals
    return left.primal <= FLIES and left.dual <= CREEPS


def _all_but_solved(iterate: Solution, tolerance: float) -> bool:
    """Whether an iterate is a flight, and best to what its multipliers may be wrong by.

    In a flat valley (a last burn of seconds) the solver creeps or stops just short of its
    tolerance. Finer meshes are solved from there, and the certificate has the residuals.
    """
    left = iterate.residuals
    return left.primal <= tolerance and max(left.dual, left.complementarity) <= LOOSE


def says_how_it_fares(attempt: Attempt) -> bool:
    """Whether an attempt arrives, or misses by more than what may be the barrier's."""
    return attempt.reached or (attempt.shortfall or 0.0) > REACHED


def pass_on_interrupt(failure: NotConverged) -> None:
    """Ctrl-C is no failure to be worked around: no further guess is what the user wants."""
    if failure.solution.outcome is Outcome.INTERRUPTED:
        raise KeyboardInterrupt from failure

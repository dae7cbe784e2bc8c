"""One structure of the flight, from its plan to its solution, and how it came out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from math import exp, log

import numpy as np

from ascentopt.collocation import (
    Accuracy,
    Guess,
    NotConverged,
    Outcome,
    Problem,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    solve,
)
from ascentopt.collocation.radau import Array
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.kind import Guidance
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.sequence import Sequence
from ascentopt.mission import FlightLimits, Mission
from ascentopt.optimal.fairing import drop_time, middle_of
from ascentopt.optimal.first_mesh import first_meshes
from ascentopt.optimal.flown import as_guess, cut
from ascentopt.optimal.guess import Start, fly_guess
from ascentopt.optimal.transcription import Transcription, clearance
from ascentopt.optimal.violations import NEAR, excesses, limits_on, loads, loosened, without_loads
from ascentopt.rocket import Vehicle

REACHED = 0.5
"""m/s of virtual impulse below which the orbit counts as reached: the second program closes it."""

AT_AN_END = 0.01
"""s. A fairing dropped nearer than this to the end of its arc would rather be dropped beyond it."""

UP = Start(to_the_top=True)

STARTS = {
    False: (Start(), Start(lift=0.6), Start(lift=1.5)),
    True: (Start(), UP, Start(lift=0.6)),
}
"""Guesses without and with a restart; further ones where the first leads nowhere."""

LOOSE = 1e-6
"""Tolerance on the least missing speed: 0.1 mm/s, and a millionth of a radius at the joints."""

HEAVIER = 1e-4
"""Barrier with which the greatest mass is looked for: 1e-6 pins coasts and short burns to bounds
that they have to leave, 1e-2 throws the flight away. Two of four hard cases only solve with it."""

STRIDE = 70
"""Iterations after which a step towards the limits is given up; good ones take 10 to 60."""

MOST_STEPS = 9
"""Programs solved while limits are brought down, failures included."""


def starts(plan: FlightPlan) -> tuple[Start, ...]:
    """The guesses to try for a plan, in turn."""
    if plan.coast_before:
        return (UP, Start(lift=0.8, to_the_top=True))
    return STARTS[plan.restarts > 0]


class Standing(Enum):
    """How a candidate came out; the value says what it means."""

    BEST = "the least propellant of all candidates"
    BEATEN = "reaches the orbit, with more propellant"
    UNCONFIRMED = "reaches the orbit on a coarse mesh, but could not be refined"
    INTERRUPTED = "the user stopped the search: limits on loads and mesh are unfinished"
    SHORT = "cannot reach the orbit"
    SKIPPED = "not solved for, since it cannot win; the history says why"
    UNSOLVED = "the solver found neither a flight to the orbit nor the speed that is missing"


@dataclass(frozen=True, eq=False)
class Attempt:
    """A structure with what solving it gave.

    Attributes:
        plan: burns and coasts; sequence: its arcs.
        solution: the last solved program, None when none was.
        watched: arcs on which limits are imposed.
        shortfall: m/s missing at insertion; zero when the orbit is reached, None when unknown.
        history: one line for each program solved.
        low: whether it had to be kept from the ground.
        limited: whether the mission's limits on loads hold; before that the mass is a bound.
        skipped: whether nothing was solved for it.
        nearest: where the orbit is not reached, the flight with the least missing speed.
        refined: whether the mesh was refined to its tolerance; None before it was tried.
        broken: limits on loads that the mildest flight to the orbit that was found breaks, in
            words; only where none was found within them.
    """

    plan: FlightPlan
    sequence: Sequence
    solution: Solution | None
    watched: frozenset[str]
    shortfall: float | None
    history: tuple[str, ...]
    limited: bool = False
    low: bool = False
    skipped: bool = False
    nearest: Solution | None = None
    refined: bool | None = None
    broken: tuple[str, ...] = ()

    @property
    def reached(self) -> bool:
        """Whether the flight ends in the orbit."""
        return self.shortfall == 0.0 and self.solution is not None

    def arc_for_the_fairing(self) -> str | None:
        """The neighbouring arc that the fairing's drop presses against; None when it is free.

        The drop is placed within an arc by a guess; the optimum may lie beyond its ends.
        """
        drops = [k for k, arc in enumerate(self.sequence.arcs) if arc.joint.fairing]
        flight = self.solution or self.nearest
        if not drops or flight is None:
            return None
        cut, arcs = drops[0], self.sequence.arcs
        before, after = (flight.arcs[k].duration for k in (cut, cut + 1))
        # At the end of a coast: the burn before it may be worth something.
        early = before < AT_AN_END or not arcs[cut].burning
        earlier = [arc.name for arc in arcs[:cut] if arc.burning and arc.rise is None]
        if early and earlier:
            return earlier[-1]
        if after < AT_AN_END and cut + 2 < len(arcs):
            return arcs[cut + 2].name
        return None

    def would_rather_coast(self) -> bool:
        """Whether the last stage burns while its thrust is worth less than its propellant.

        The derivative of the Hamiltonian by the throttle, thrust/m p_v.u - flow p_m in costates of
        the cost, is below zero wherever a burn pays (Pontryagin); in vacuum, at full throttle.
        """
        return any(
            self._worth(k).max() > 0.0
            for k, arc in enumerate(self.sequence.arcs)
            if arc.stage == self.sequence.arcs[-1].stage and arc.kind.guidance is Guidance.STEERED
        )

    def _worth(self, k: int) -> Array:
        """(N,) cost of a second of full throttle at the nodes of a burn, kg/s."""
        numbers, own = self.sequence.arcs[k].numbers, self.found.arcs[k]
        if own.duration < AT_AN_END:
            return np.full(len(own.controls), -1.0)
        states, steering = own.states[1:], own.controls[:, :3]
        if self.sequence.arcs[k].kind.turning:
            steering = states[:, 7:10]
        push = (own.costates[1:, 3:6] * steering).sum(axis=1) * numbers[0] / states[:, 6]
        return np.asarray(push - numbers[1] * own.costates[1:, 6])

    def intended(self) -> Array:
        """(6,) position and velocity at insertion that the flight, not the plan, should reach."""
        lead = np.array(self.found.problem.parameter_values[:6], dtype=np.float64)
        return np.asarray(self.planned + lead, dtype=np.float64)

    @property
    def planned(self) -> Array:
        """(6,) position and velocity in which the plan ends."""
        return self.found.arcs[-1].states[-1, :6]

    @property
    def found(self) -> Solution:
        """The solution. Raises `LookupError` for an attempt that has none."""
        if self.solution is None:
            raise LookupError(f"{self.plan}: no program was solved; look at the history.")
        return self.solution

    @property
    def rank(self) -> tuple[float, float]:
        """Greater is better: by the mass delivered, else by how little speed is missing."""
        return self.final_mass, -np.inf if self.shortfall is None else -self.shortfall

    @property
    def final_mass(self) -> float:
        """Mass in the orbit, kg; -inf when it is not reached."""
        return self.found.objective if self.reached else -np.inf


@dataclass(frozen=True, kw_only=True)
class Solving:
    """A vehicle, a mission and the patience to solve for them."""

    vehicle: Vehicle
    mission: Mission
    settings: SolverSettings
    refinement: Refinement

    def attempt(self, plan: FlightPlan) -> Attempt:
        """Guess, then solve without the limits on loads on a coarse mesh.

        Where that falls short, or is not solved, once more from each other guess: a flight that
        misses the orbit from one may be a local optimum. The history says so.
        """
        first, *others = starts(plan)
        found = [self._from_guess(plan, first, ())]
        for start in others:
            if not found[-1].reached:
                found.append(self._from_guess(plan, start, found[-1].history))
        shortest = min(found, key=lambda one: np.inf if one.shortfall is None else one.shortfall)
        return replace(shortest, history=found[-1].history)

    def once(self, plan: FlightPlan) -> Attempt:
        """As `attempt`, from the first guess alone."""
        return self._from_guess(plan, starts(plan)[0], ())

    def skip(self, plan: FlightPlan, reason: str) -> Attempt:
        """Put a plan on record that is not solved for."""
        return Attempt(
            plan=plan,
            sequence=sequence_of(self.vehicle, self.mission, plan),
            solution=None,
            watched=frozenset(),
            shortfall=None,
            history=(reason,),
            skipped=True,
        )

    def _from_guess(self, plan: FlightPlan, start: Start, lines: tuple[str, ...]) -> Attempt:
        again = (f"guess {start}",) if lines else ()
        run, guess = _Run.begun(self, plan, start, (*lines, *again))
        attempt = run.without_loads(guess)
        for _ in attempt.sequence.arcs:
            arc = attempt.arc_for_the_fairing()
            if arc is None:
                break
            moved = (*attempt.history, f"fairing drop moved to {arc!r}")
            run, guess = _Run.begun(self, replace(plan, fairing_arc=arc), start, moved)
            other = run.without_loads(guess)
            if other.rank <= attempt.rank:
                return replace(attempt, history=(*other.history, "moved back"))
            attempt = other
        return attempt

    def started(
        self, plan: FlightPlan, start: Start, change: Callable[[Sequence, Guess], Guess]
    ) -> Attempt:
        """One attempt from a guess that is changed first, to see what other starts lead to."""
        run, guess = _Run.begun(self, plan, start, ())
        return run.without_loads(change(run.sequence, guess))

    def near(self, attempt: Attempt) -> Attempt:
        """Solve from the solution for another vehicle or mission, with its plan and meshes.

        The limits hold on the arcs where they did; `within_limits` looks for further ones.
        """
        sequence = sequence_of(self.vehicle, self.mission, attempt.plan)
        return _Run.resumed(self, replace(attempt, sequence=sequence, history=())).again(attempt)

    def like(self, attempt: Attempt, start: Solution) -> Attempt:
        """The structure of an attempt that fell short, from a flight of another vehicle's."""
        run = _Run(
            self,
            sequence_of(self.vehicle, self.mission, attempt.plan),
            attempt.plan,
            tuple(arc.mesh for arc in start.problem.arcs),
            (),
            low=attempt.low,
        )
        return run.solved(
            limits_on(attempt.watched, self.mission.limits), attempt.watched, start.as_guess()
        )

    def within_limits(self, attempt: Attempt) -> Attempt:
        """Impose the limits on loads on an attempt that was solved without them."""
        return _Run.resumed(self, attempt).with_loads(attempt)

    def sharpen(self, attempt: Attempt) -> Attempt:
        """Refine the mesh of an attempt that reached the orbit, as far as that goes.

        Where it does not go to the tolerance, the last mesh that was solved stands, unrefined.
        """
        found = attempt.found
        lines = list(attempt.history)
        try:
            solution = refine(found.problem, found, self.refinement, self.settings)
        except NotConverged as failure:
            _pass_on_interrupt(failure)
            lines.append(f"refinement: {failure}")
            solution = failure.solved if failure.solved is not None else found
        accuracy, rule = Accuracy.of(solution), self.refinement
        done = accuracy.error <= rule.tolerance and accuracy.excess <= rule.path_tolerance
        lines.append(
            f"{'refined' if done else 'refined only'} to "
            f"{sum(arc.arc.mesh.nodes for arc in solution.arcs)} nodes, continuous error "
            f"{accuracy.error:.1e}"
        )
        return replace(attempt, solution=solution, refined=done, history=tuple(lines))

    def lead(self, attempt: Attempt, miss: Array) -> Attempt:
        """Solve again so that a flight that misses the plan by ``miss`` (6,) ends in the orbit.

        The attempt keeps its solution where the program so changed is not solved.
        """
        problem = attempt.found.problem
        led = (*map(float, miss), *problem.parameter_values[len(miss) :])
        problem = replace(problem, parameter_values=led)
        try:
            # A switch that moves into another interval wants that one refined as well.
            solution = refine(problem, attempt.found, self.refinement, self.settings)
        except NotConverged as failure:
            _pass_on_interrupt(failure)
            line = f"plan could not lead the flight: {failure}"
            return replace(attempt, history=(*attempt.history, line))
        line = f"plan leads the flight by {np.linalg.norm(miss[:3]):.2f} m"
        return replace(attempt, solution=solution, history=(*attempt.history, line))


class _Run:
    """The steps of one attempt; ``lines`` grows as they are taken."""

    def __init__(
        self,
        solving: Solving,
        sequence: Sequence,
        plan: FlightPlan,
        meshes: tuple[RadauMesh, ...],
        lines: tuple[str, ...],
        *,
        low: bool,
    ) -> None:
        self.solving, self.sequence, self.plan = solving, sequence, plan
        self.meshes, self.lines, self.low = meshes, list(lines), low
        self.nearest: Solution | None = None

    @classmethod
    def begun(
        cls, solving: Solving, plan: FlightPlan, start: Start, lines: tuple[str, ...]
    ) -> tuple[_Run, Guess]:
        """Fly a guess, place the fairing's drop by it and choose meshes."""
        vehicle, mission = solving.vehicle, solving.mission
        sequence = sequence_of(vehicle, mission, replace(plan, fairing_arc=None))
        flown = fly_guess(sequence, mission, vehicle.fairing, start)
        if vehicle.fairing is not None:
            arc, at = drop_time(flown, vehicle.fairing.max_heating)
            if plan.fairing_arc is not None:
                arc, at = plan.fairing_arc, middle_of(flown, plan.fairing_arc)
            plan = replace(plan, fairing_arc=arc)
            sequence = sequence_of(vehicle, mission, plan)
            flown = cut(flown, sequence, at)
        meshes, airless = first_meshes(sequence, flown), mission.body.atmosphere is None
        return cls(solving, sequence, plan, meshes, lines, low=airless), as_guess(flown)

    @classmethod
    def resumed(cls, solving: Solving, attempt: Attempt) -> _Run:
        """Go on where an attempt stands."""
        meshes = tuple(arc.mesh for arc in attempt.found.problem.arcs)
        return cls(
            solving, attempt.sequence, attempt.plan, meshes, attempt.history, low=attempt.low
        )

    def without_loads(self, guess: Guess) -> Attempt:
        """Solve from the guess; the limits on loads come later, from a flight that works."""
        free = without_loads(self.solving.mission.limits)
        found = self._solve(free, frozenset(), guess)
        if not isinstance(found, float) and not self.low and self._grazes(found):
            self.low = True
            self.lines.append("the flight meets the ground: kept above it")
            found = self._solve(free, frozenset(), guess)
        if isinstance(found, float):
            return self._failed(found, frozenset())
        return self._done(found, frozenset())

    def again(self, attempt: Attempt) -> Attempt:
        """Solve with the limits on the arcs that an attempt watches, from its solution."""
        limits, watched, start = self.solving.mission.limits, attempt.watched, attempt.found
        problem = self._transcription(limits, watched).most_mass()
        try:
            found: Solution | float = self._logged("mass", problem, start.as_guess(), self._brief())
        except NotConverged:  # too far off, or out of reach: how much speed is missing?
            found = self._solve(limits, watched, start.as_guess())
        if isinstance(found, float):
            return self._failed(found, watched)
        return self._done(found, watched)

    def with_loads(self, attempt: Attempt) -> Attempt:
        """Watch the arcs that break a limit, until none does."""
        solution, watched = attempt.found, attempt.watched
        for _ in range(len(self.sequence.arcs)):
            grown = watched | self._overloaded(solution)
            if grown == watched:
                break
            watched = grown
            tightened, mildest = self._tighten(solution, watched)
            if isinstance(tightened, float):
                broken = excesses(mildest, self.sequence, self.solving.mission.limits)
                return replace(self._failed(tightened, watched), broken=broken)
            solution = tightened
        return replace(self._done(solution, watched), limited=True)

    def _brief(self) -> SolverSettings:
        settings = self.solving.settings
        return replace(settings, iterations=min(STRIDE, settings.iterations))

    def solved(self, limits: FlightLimits, watched: frozenset[str], start: Guess) -> Attempt:
        """The greatest mass, or the least missing speed, under these limits."""
        found = self._solve(limits, watched, start)
        if isinstance(found, float):
            return self._failed(found, watched)
        return self._done(found, watched)

    def _grazes(self, solution: Solution) -> bool:
        """Whether the flight comes lower after the pitch-over than it may."""
        pairs = zip(loads(solution, self.sequence), self.sequence.arcs, strict=True)
        lowest = min(load.lowest for load, arc in pairs if arc.rise is None)
        return lowest < clearance(self.solving.mission) - 1.0

    def _overloaded(self, solution: Solution) -> frozenset[str]:
        limits = self.solving.mission.limits
        found = (load for load in loads(solution, self.sequence) if load.ratio(limits) > NEAR)
        return frozenset(load.arc for load in found)

    def _tighten(
        self, solution: Solution, watched: frozenset[str]
    ) -> tuple[Solution | float, Solution]:
        """Bring the limits down from what the solution bears to what the mission allows.

        At once where the solver can follow, else in steps that shrink each time one fails; when
        all are spent, what is asked is how much speed is missing. The mildest flight that was
        found comes second.
        """
        limits, brief = self.solving.mission.limits, self._brief()
        excess = max(load.ratio(limits) for load in loads(solution, self.sequence))
        at, step = log(max(excess, 1.0)), log(max(excess, 1.0))
        for _ in range(MOST_STEPS):
            goal = max(at - step, 0.0)
            problem = self._transcription(loosened(limits, exp(goal)), watched).most_mass()
            try:
                what = f"limits x {exp(goal):.3f}"
                solution = self._logged(what, problem, solution.as_guess(), brief)
            except NotConverged:
                step = 0.4 * (at - goal)
                continue
            if goal == 0.0:
                return solution, solution
            at = goal
        return self._solve(limits, watched, solution.as_guess()), solution

    def _solve(
        self, limits: FlightLimits, watched: frozenset[str], start: Guess
    ) -> Solution | float:
        """A solution, or the speed in m/s that is missing (NaN when that is not known).

        First the least missing speed, which every guess can be improved towards; where it is
        nothing, the flight found is feasible and the mass is made greatest from there.
        """
        flight = self._transcription(limits, watched)
        try:
            nearest = self._nearest(flight.least_impulse(), start)
            missing = _speed(nearest)
            if missing > REACHED:
                self.nearest = nearest
                return missing
            return self._heaviest(flight.most_mass(), nearest.as_guess())
        except NotConverged:
            return float("nan")

    def _transcription(self, limits: FlightLimits, watched: frozenset[str]) -> Transcription:
        return Transcription(
            vehicle=self.solving.vehicle,
            mission=replace(self.solving.mission, limits=limits),
            sequence=self.sequence,
            meshes=self.meshes,
            watched=watched,
            low=self.low,
        )

    def _nearest(self, problem: Problem, start: Guess) -> Solution:
        """The least missing speed, or a flight that the solver did not improve any more.

        Where nothing is missing there are many such flights and no reason to prefer one: what is
        asked for is one of them, not the last digits of its multipliers.

        Raises:
            NotConverged: when the last iterate is no flight.
        """
        loose = replace(self.solving.settings, tolerance=LOOSE)
        try:
            return self._logged("least missing speed", problem, start, loose, _speed)
        except NotConverged as failure:
            if failure.solution.residuals.primal > LOOSE:
                raise
            self.lines.append("the last iterate is a flight, and goes for the nearest")
            return failure.solution

    def _heaviest(self, problem: Problem, start: Guess) -> Solution:
        """The greatest mass from a flight that reaches the orbit.

        A small barrier keeps near the flight; where that leads nowhere, an adaptive one strays.

        Raises:
            NotConverged: when neither is solved.
        """
        settings = self.solving.settings
        near = replace(settings, near_barrier=HEAVIER)
        try:
            return self._logged("greatest mass", problem, start, near)
        except NotConverged:
            stray = replace(start, near=False)
            return self._logged("greatest mass, further away", problem, stray, settings)

    def _logged(
        self,
        what: str,
        problem: Problem,
        start: Guess,
        settings: SolverSettings,
        measure: Callable[[Solution], float] = lambda solution: solution.objective,
    ) -> Solution:
        """Solve and put the outcome on record, the measure in kg or m/s."""
        try:
            solution = solve(problem, start, settings)
        except NotConverged as failure:
            _pass_on_interrupt(failure)
            self.lines.append(f"{what}: {failure}")
            raise
        self.lines.append(f"{what}: {measure(solution):.6g} in {solution.iterations} iterations")
        return solution

    def _done(self, solution: Solution, watched: frozenset[str]) -> Attempt:
        return self._ended(solution, watched, 0.0)

    def _failed(self, missing: float, watched: frozenset[str]) -> Attempt:
        shortfall = None if np.isnan(missing) else missing
        return self._ended(None, watched, shortfall)

    def _ended(
        self, solution: Solution | None, watched: frozenset[str], shortfall: float | None
    ) -> Attempt:
        return Attempt(
            plan=self.plan,
            sequence=self.sequence,
            solution=solution,
            watched=watched,
            shortfall=shortfall,
            history=tuple(self.lines),
            low=self.low,
            nearest=self.nearest if shortfall else None,
        )


def _pass_on_interrupt(failure: NotConverged) -> None:
    """Ctrl-C is no failure to be worked around: no further guess is what the user wants."""
    if failure.solution.outcome is Outcome.INTERRUPTED:
        raise KeyboardInterrupt from failure


def _speed(solution: Solution) -> float:
    """Missing speed in m/s: the objective is half of its square."""
    return float(np.sqrt(2.0 * max(solution.objective, 0.0)))

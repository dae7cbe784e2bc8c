"""Where attempts at structures of the flight begin, without limits on loads."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from ascentopt.collocation import Guess
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import InitialGuess
from ascentopt.optimal.problem.linkage import VIRTUAL
from ascentopt.optimal.problem.target.aim import orbit_aim, transfer_aim
from ascentopt.optimal.solve.fairing_drop_attempts import (
    dropped_elsewhere,
    with_drop_moved_while_it_pays,
)
from ascentopt.optimal.solve.ladder import Task
from ascentopt.optimal.solve.starts import COAST_TO_NODE, COAST_UP, FlownStart, starts
from ascentopt.optimal.solve.structure_solver import (
    StructureSolver,
    has_known_outcome,
)
from ascentopt.optimal.switching.fairing_drop import may_pay_to_coast_lower
from ascentopt.optimal.warm_start.coast_insertion import (
    with_coast_before_stage,
    with_coast_inserted,
)
from ascentopt.optimal.warm_start.parking_orbit import below_the_latitude
from ascentopt.optimal.warm_start.transfer_orbit import (
    mission_to_transfer_ellipse,
    with_fairing_as_payload,
    with_transfer_added,
)

AttemptStart = Callable[[tuple[str, ...]], Attempt]
"""From the history so far to an attempt that goes on with it."""

AGREED, AGREED_SHARE = 1.0, 1e-3
"""m/s, or a share of it, by which two guesses may differ on the missing speed and still agree."""

NO_COAST = 1.0
"""s of a coast that is none."""

SHORT_COAST = 0.01
"""Of a coast that pays from its first second, in units of sqrt(R^3/mu), 8 s on the Earth."""

FAR_BELOW = 0.5
"""Share of the orbit's altitude from which half a revolution upwards is likely to pay."""

OBLONG = 1.01
"""Apoapsis over periapsis radius from which it matters at which of the two a flight arrives."""


def _agree(tried: list[Attempt], short: Attempt | None) -> bool:
    """Whether the last attempt finds the same speed missing as another one.

    What is missing without the coast, too, is no finding: the coast has shrunk to nothing there.
    """
    *others, last = (one.shortfall for one in tried)
    if last is None or (short is not None and _same(last, short.shortfall)):
        return False
    return any(_same(last, other) for other in others)


def _without_its_coast(attempt: Attempt) -> bool:
    """Whether the coast before the last burn has shrunk to nothing: that is another structure.

    It is the best flight near the guess, and says nothing of half a revolution.
    """
    return attempt.plan.restarts > 0 and attempt.found.arcs[-2].duration < NO_COAST


def _same(speed: float, other: float | None) -> bool:
    return other is not None and abs(other - speed) <= max(AGREED, AGREED_SHARE * speed)


@dataclass(frozen=True, kw_only=True)
class UnlimitedMissionSolver(Task):
    """Attempts at plans without limits on loads: from guesses, and from flights of other plans."""

    def attempt(self, plan: FlightPlan, short: Attempt | None = None) -> Attempt:
        """Guess, then solve without the limits on loads on a coarse mesh.

        Where that falls short, or is not solved, once more from another guess, until two agree: a
        flight that misses the orbit from one may be a local optimum. The history says so. In haste
        what the guesses come to stands.

        Args:
            plan: burns and coasts.
            short: the same burns without the coast, where they fall short: a good start.
        """
        tried: list[Attempt] = []
        for begin in self._attempt_starts(plan, short):
            tried.append(begin(tried[-1].history if tried else ()))
            last = tried[-1]
            arrives = last.reached and not (last.stopped_short or _without_its_coast(last))
            done = arrives or _agree(tried, short) or self.first_start_alone
            if done and not self.exhaustive:
                break
        if self.hasty and not tried[-1].reached:
            return max(tried, key=lambda one: one.rank)
        if short is None and not any(has_known_outcome(one) for one in tried):
            tried.append(self._attempt_with_all_iterations(plan, tried[-1].history))
        best = max(tried, key=lambda one: one.rank)
        return dropped_elsewhere(self, replace(best, history=tried[-1].history))

    def attempt_with_fairing_carried(self, attempt: Attempt) -> Attempt | None:
        """The same burns with a lower coast, the fairing on; None where that cannot pay.

        It stands beside the other: which of the two is better may change within limits on loads.
        """
        if not may_pay_to_coast_lower(attempt, self.vehicle.fairing):
            return None
        begin = self._by_a_transfer(attempt.plan, carried=True)
        return None if begin is None else begin(())

    def _attempt_with_all_iterations(self, plan: FlightPlan, lines: tuple[str, ...]) -> Attempt:
        """From the first guess again, with all the iterations that the settings allow."""
        patient = replace(self, guess_iterations=self.settings.iterations)
        begun = FlownStart.flown(
            patient, plan, replace(starts(plan)[0], solver_may_stray=True), lines
        )
        solver = begun.solver
        solver.ladder.note("no guess has led anywhere: the first one once more, with more patience")
        found = begun.solve()
        if found.shortfall is not None:
            return found
        # A flight that is nearly all virtual may stray: what it misses as a violation, then.
        solver.ladder.note("once more, with the miss as a violation")
        free = begun.guess.free.copy()
        free[:VIRTUAL] = 0.0
        again = solver.kept_above_ground() if found.needs_ground_clearance else solver
        return replace(begun, solver=again, guess=replace(begun.guess, free=free)).solve()

    def _attempt_starts(self, plan: FlightPlan, short: Attempt | None) -> Iterator[AttemptStart]:
        """Where to begin, in turn: guesses, and a flight with a pause where there is one.

        Where the burn alone falls short, a coast upwards is the likeliest to help, unless the orbit
        is so high that half a revolution is worth a try first.
        """
        flown = list(self._flown_starts(plan, short))
        way = self._by_a_transfer(plan) if plan.restarts else None
        if way is not None:
            flown.insert(self._place_of_a_transfer(len(flown)), way)
        if plan.restarts == 1 and below_the_latitude(self.mission):
            flown.insert(0, partial(self._from_guess, plan, COAST_TO_NODE))
        yield from flown

    def _place_of_a_transfer(self, last: int) -> int:
        """Before which flown guess it is tried.

        They reach an ellipse where it is nearest, and stay there: its far end is the better place
        to arrive at, unless the orbit says where in the plane that is: the transfer ends anywhere.
        Without air the second one, too, seldom leads anywhere but to no coast.
        """
        orbit, air = self.mission.orbit, self.mission.body.atmosphere
        high = orbit.apoapsis_radius_around(self.mission.body)
        oblong = high is not None and high > OBLONG * orbit_aim(self.mission).radius
        turned = getattr(orbit, "argument_of_periapsis", None) is not None
        if oblong and (air is None or not turned):
            return 0
        return 1 if air is None else last

    def _flown_starts(self, plan: FlightPlan, short: Attempt | None) -> Iterator[AttemptStart]:
        guesses: list[AttemptStart] = [
            partial(self._from_guess, plan, start) for start in starts(plan)
        ]
        if short is None:
            yield from guesses
            return
        resting = self._from_short_flight_with_coast(plan, short)
        rests = [] if resting is None else [resting]
        if plan.coast_before:
            yield from (guesses[0], *rests, guesses[1])
        elif self._is_high():
            yield from (*guesses[:2], *rests)
        else:
            yield from (guesses[1], *rests, guesses[0])

    def _is_high(self) -> bool:
        """Whether a transfer to the orbit would begin far below it."""
        ground, target = self.mission.body.radius, orbit_aim(self.mission)
        low = transfer_aim(self.mission, self.vehicle.fairing)
        return low.radius - ground < FAR_BELOW * (target.radius - ground)

    def _by_a_transfer(self, plan: FlightPlan, *, carried: bool = False) -> AttemptStart | None:
        """An attempt from the burn into a transfer ellipse; None where the orbit is too low.

        The fairing goes on the way, or is ``carried`` to the far end of the coast.
        """
        mission = mission_to_transfer_ellipse(self.mission)
        if mission is None:
            return None
        vehicle = with_fairing_as_payload(self.vehicle) if carried else self.vehicle
        aimed = replace(self, vehicle=vehicle, mission=mission)

        def begin(lines: tuple[str, ...]) -> Attempt:
            first = aimed.attempt_from_first_guess(replace(plan, restarts=0, fairing_arc=None))
            told = "by a transfer" + (", with the fairing on" if carried else "")
            lines = (*lines, told, *first.history)
            arc = self._long_coast(plan) if carried else first.plan.fairing_arc
            flown = replace(plan, fairing_arc=arc)
            sequence = sequence_of(self.vehicle, self.mission, flown)
            if not first.reached:
                return self._unsolved(plan, lines)
            pause = with_transfer_added(first.found, first.sequence, sequence, self.mission)
            if pause is None:
                return self._unsolved(plan, lines)
            solver = StructureSolver.begun(
                self,
                sequence,
                flown,
                pause.meshes,
                lines,
                needs_ground_clearance=first.needs_ground_clearance,
            )
            return solver.solve_from_good_guess(pause.guess)

        return begin

    def _long_coast(self, plan: FlightPlan) -> str:
        plain = sequence_of(self.vehicle, self.mission, replace(plan, fairing_arc=None))
        return plain.arcs[-2].name

    def _from_short_flight_with_coast(
        self, plan: FlightPlan, short: Attempt
    ) -> AttemptStart | None:
        """An attempt from a flight that falls short, with a coast put in; None if none fits."""
        plan = replace(plan, fairing_arc=short.plan.fairing_arc)
        sequence = sequence_of(self.vehicle, self.mission, plan)
        flight = short.nearest_flight
        pause = None if flight is None else with_coast_inserted(flight, short.sequence, sequence)
        if pause is None:
            return None

        def begin(lines: tuple[str, ...]) -> Attempt:
            told = (*lines, f"from {short.plan}, with a coast put in")
            solver = StructureSolver.begun(
                self,
                sequence,
                plan,
                pause.meshes,
                told,
                needs_ground_clearance=short.needs_ground_clearance,
            )
            return with_drop_moved_while_it_pays(
                self, solver.solve_without_load_limits(pause.guess), COAST_UP
            )

        return begin

    def attempt_with_coast_before(self, attempt: Attempt, stage: int) -> Attempt | None:
        """An attempt's flight with a free coast put in before a stage; None if it cannot be."""
        before = tuple(sorted({*attempt.plan.coast_before, stage}))
        plan = replace(attempt.plan, coast_before=before)
        bare = sequence_of(self.vehicle, self.mission, replace(plan, fairing_arc=None))
        dropping = [k for k, name in enumerate(bare.names) if name == plan.fairing_arc]
        if not all(bare.may_drop_in(k) for k in dropping):
            return None
        sequence, flight = sequence_of(self.vehicle, self.mission, plan), attempt.best_known_flight
        if flight is None:
            return None
        pause = with_coast_before_stage(flight, attempt.sequence, sequence, stage, SHORT_COAST)
        if pause is None:
            return None
        told = (f"from {attempt.plan}, with a coast put in before stage {stage + 1}",)
        solver = StructureSolver.begun(
            self,
            sequence,
            plan,
            pause.meshes,
            told,
            needs_ground_clearance=attempt.needs_ground_clearance,
        )
        return with_drop_moved_while_it_pays(
            self, solver.solve_without_load_limits(pause.guess), starts(plan)[0]
        )

    def attempt_from_first_guess(self, plan: FlightPlan) -> Attempt:
        """As `attempt`, from the first guess alone."""
        return self._from_guess(plan, starts(plan)[0], ())

    def skip(self, plan: FlightPlan, reason: str) -> Attempt:
        """Put a plan on record that is not solved for."""
        return replace(self._unsolved(plan, (reason,)), skipped=True)

    def _unsolved(self, plan: FlightPlan, lines: tuple[str, ...]) -> Attempt:
        return Attempt(
            plan=plan,
            sequence=sequence_of(self.vehicle, self.mission, plan),
            solution=None,
            limited_arcs=frozenset(),
            shortfall=None,
            history=lines,
        )

    def _from_guess(self, plan: FlightPlan, start: InitialGuess, lines: tuple[str, ...]) -> Attempt:
        again = (f"guess {start}",) if lines else ()
        return with_drop_moved_while_it_pays(
            self, FlownStart.flown(self, plan, start, (*lines, *again)).solve(), start
        )

    def attempt_from_changed_guess(
        self, plan: FlightPlan, start: InitialGuess, change: Callable[[Sequence, Guess], Guess]
    ) -> Attempt:
        """One attempt from a guess that is changed first, to see what other starts lead to."""
        begun = FlownStart.flown(self, plan, start, ())
        return replace(begun, guess=change(begun.solver.flight.sequence, begun.guess)).solve()

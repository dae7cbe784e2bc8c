"""Where attempts at structures of the flight begin, without limits on loads."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from ascentopt.collocation import Guess
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
from ascentopt.optimal.solve.flown_start import COAST_TO_NODE, COAST_UP, FlownStart, starts
from ascentopt.optimal.solve.structure_solver import StructureSolver, has_known_outcome
from ascentopt.optimal.switching.fairing_drop import may_pay_to_coast_lower
from ascentopt.optimal.switching.mode_insertion import SHORTEST
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.coast_insertion import (
    BRIEF,
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

FAR_BELOW = 0.5
"""Share of the orbit's altitude from which half a revolution upwards is likely to pay."""

OBLONG = 1.01
"""Apoapsis over periapsis radius from which it matters at which of the two a flight arrives."""


def attempt_at(task: Task, plan: FlightPlan, short: Attempt | None = None) -> Attempt:
    """Guess, then solve without the limits on loads on a coarse mesh.

    Where that falls short, or is not solved, once more from another guess, until two agree: a
    flight that misses the orbit from one may be a local optimum. The history says so. In haste
    what the guesses come to stands. Where a tank that may be overdrawn leads nowhere, the tank as
    it is may: with little thrust a longer burn ends below the ground.

    Args:
        task: vehicle, mission and patience.
        plan: burns and coasts.
        short: the same burns without the coast, where they fall short: a good start.
    """
    task.watch.begins(f"{plan}: begun")
    tried: list[Attempt] = []
    for begin in _attempt_starts(task, plan, short):
        tried.append(begin(tried[-1].history if tried else ()))
        last = tried[-1]
        arrives = last.reached and not (last.stopped_short or _without_its_coast(last))
        if (arrives or _agree(tried, short)) and not task.exhaustive:
            break
    if task.hasty and not tried[-1].reached:
        return max(tried, key=lambda one: one.rank)
    if not any(has_known_outcome(one) for one in tried):
        if task.own_vehicle is not None:
            own = replace(task, vehicle=task.own_vehicle, own_vehicle=None)
            return attempt_at(own, plan, short)
        if short is None:
            tried.append(_attempt_with_all_iterations(task, plan, tried[-1].history))
    best = max(tried, key=lambda one: one.rank)
    return dropped_elsewhere(task, replace(best, history=tried[-1].history))


def _agree(tried: list[Attempt], short: Attempt | None) -> bool:
    """Whether the last attempt finds the same speed missing as another one.

    What is missing without the coast, too, is no finding: the coast has shrunk to nothing there.
    """
    *others, last = (one.shortfall for one in tried)
    if last is None or (short is not None and _same(last, short.shortfall)):
        return False
    return any(_same(last, other) for other in others)


def _same(speed: float, other: float | None) -> bool:
    return other is not None and abs(other - speed) <= max(AGREED, AGREED_SHARE * speed)


def _without_its_coast(attempt: Attempt) -> bool:
    """Whether the coast before the last burn has shrunk to nothing: that is another structure.

    It is the best flight near the guess, and says nothing of half a revolution.
    """
    return attempt.plan.restarts > 0 and attempt.found.arcs[-2].duration < SHORTEST


def _attempt_with_all_iterations(task: Task, plan: FlightPlan, lines: tuple[str, ...]) -> Attempt:
    """From the first guess again, with all the iterations that the settings allow."""
    patient = replace(task, guess_iterations=task.settings.iterations)
    begun = FlownStart.flown(patient, plan, replace(starts(plan)[0], solver_may_stray=True), lines)
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


def _attempt_starts(task: Task, plan: FlightPlan, short: Attempt | None) -> Iterator[AttemptStart]:
    """Where to begin, in turn: guesses, and a flight with a pause where there is one.

    Where the burn alone falls short, a coast upwards is the likeliest to help, unless the orbit
    is so high that half a revolution is worth a try first.
    """
    flown = list(_flown_starts(task, plan, short))
    way = _by_a_transfer(task, plan) if plan.restarts else None
    if way is not None:
        flown.insert(_place_of_a_transfer(task, len(flown)), way)
    if plan.restarts == 1 and below_the_latitude(task.mission):
        flown.insert(0, partial(_from_guess, task, plan, COAST_TO_NODE))
    yield from flown


def _place_of_a_transfer(task: Task, last: int) -> int:
    """Before which flown guess it is tried.

    They reach an ellipse where it is nearest, and stay there: its far end is the better place
    to arrive at, unless the orbit says where in the plane that is: the transfer ends anywhere.
    Without air the second one, too, seldom leads anywhere but to no coast.
    """
    orbit, air = task.mission.orbit, task.mission.body.atmosphere
    high = orbit.apoapsis_radius_around(task.mission.body)
    oblong = high is not None and high > OBLONG * orbit_aim(task.mission).radius
    turned = getattr(orbit, "argument_of_periapsis", None) is not None
    if oblong and (air is None or not turned):
        return 0
    return 1 if air is None else last


def _flown_starts(task: Task, plan: FlightPlan, short: Attempt | None) -> Iterator[AttemptStart]:
    guesses: list[AttemptStart] = [
        partial(_from_guess, task, plan, start) for start in starts(plan)
    ]
    if short is None:
        yield from guesses
        return
    resting = _from_short_flight_with_coast(task, plan, short)
    rests = [] if resting is None else [resting]
    if plan.coast_before:
        yield from (guesses[0], *rests, guesses[1])
    elif _is_high(task):
        yield from (*guesses[:2], *rests)
    else:
        yield from (guesses[1], *rests, guesses[0])


def _is_high(task: Task) -> bool:
    """Whether a transfer to the orbit would begin far below it."""
    ground, target = task.mission.body.radius, orbit_aim(task.mission)
    low = transfer_aim(task.mission, task.vehicle.fairing)
    return low.radius - ground < FAR_BELOW * (target.radius - ground)


def _from_guess(
    task: Task, plan: FlightPlan, start: InitialGuess, lines: tuple[str, ...]
) -> Attempt:
    again = (f"guess {start}",) if lines else ()
    found = FlownStart.flown(task, plan, start, (*lines, *again)).solve()
    return with_drop_moved_while_it_pays(task, found, start)


def attempt_from_first_guess(task: Task, plan: FlightPlan) -> Attempt:
    """As `attempt_at`, from the first guess alone."""
    return _from_guess(task, plan, starts(plan)[0], ())


def attempt_from_changed_guess(
    task: Task, plan: FlightPlan, start: InitialGuess, change: Callable[[Sequence, Guess], Guess]
) -> Attempt:
    """One attempt from a guess that is changed first, to see what other starts lead to."""
    begun = FlownStart.flown(task, plan, start, ())
    return replace(begun, guess=change(begun.solver.flight.sequence, begun.guess)).solve()


def attempt_with_fairing_carried(task: Task, attempt: Attempt) -> Attempt | None:
    """The same burns with a lower coast, the fairing on; None where that cannot pay.

    It stands beside the other: which of the two is better may change within limits on loads.
    """
    if not may_pay_to_coast_lower(attempt, task.vehicle.fairing):
        return None
    begin = _by_a_transfer(task, attempt.plan, carried=True)
    return None if begin is None else begin(())


def _by_a_transfer(task: Task, plan: FlightPlan, *, carried: bool = False) -> AttemptStart | None:
    """An attempt from the burn into a transfer ellipse; None where the orbit is too low.

    The fairing goes on the way, or is ``carried`` to the far end of the coast.
    """
    mission = mission_to_transfer_ellipse(task.mission)
    if mission is None:
        return None
    vehicle = with_fairing_as_payload(task.vehicle) if carried else task.vehicle
    aimed = replace(task, vehicle=vehicle, mission=mission)

    def begin(lines: tuple[str, ...]) -> Attempt:
        first = attempt_from_first_guess(aimed, replace(plan, restarts=0, fairing_arc=None))
        told = "by a transfer" + (", with the fairing on" if carried else "")
        lines = (*lines, told, *first.history)
        arc = _long_coast(task, plan) if carried else first.plan.fairing_arc
        flown = replace(plan, fairing_arc=arc)
        sequence = task.arcs_of(flown)
        if not first.reached:
            return _unsolved(task, plan, lines)
        pause = with_transfer_added(first.found, first.sequence, sequence, task.mission)
        if pause is None:
            return _unsolved(task, plan, lines)
        solver = StructureSolver.begun_from(first, task, flown, pause.meshes, lines)
        return solver.solve_from_good_guess(pause.guess)

    return begin


def _long_coast(task: Task, plan: FlightPlan) -> str:
    plain = task.arcs_of(replace(plan, fairing_arc=None))
    return plain.arcs[-2].name


def _from_short_flight_with_coast(
    task: Task, plan: FlightPlan, short: Attempt
) -> AttemptStart | None:
    """An attempt from a flight that falls short, with a coast put in; None if none fits."""
    plan = replace(plan, fairing_arc=short.plan.fairing_arc)
    sequence = task.arcs_of(plan)
    flight = short.nearest_flight
    pause = None if flight is None else with_coast_inserted(flight, short.sequence, sequence)
    if pause is None:
        return None

    def begin(lines: tuple[str, ...]) -> Attempt:
        told = (*lines, f"from {short.plan}, with a coast put in")
        solver = StructureSolver.begun_from(short, task, plan, pause.meshes, told)
        found = solver.solve_without_load_limits(pause.guess)
        return with_drop_moved_while_it_pays(task, found, COAST_UP)

    return begin


def attempt_with_coast_before(task: Task, attempt: Attempt, stage: int) -> Attempt | None:
    """An attempt's flight with a free coast put in before a stage; None if it cannot be."""
    plan = attempt.plan.coasting_before(stage)
    bare = task.arcs_of(replace(plan, fairing_arc=None))
    dropping = [k for k, name in enumerate(bare.names) if name == plan.fairing_arc]
    if not all(bare.may_drop_in(k) for k in dropping):
        return None
    sequence, flight = task.arcs_of(plan), attempt.best_known_flight
    if flight is None:
        return None
    pause = with_coast_before_stage(flight, attempt.sequence, sequence, stage, BRIEF)
    if pause is None:
        return None
    told = (f"from {attempt.plan}, with a coast put in before stage {stage + 1}",)
    solver = StructureSolver.begun_from(attempt, task, plan, pause.meshes, told)
    found = solver.solve_without_load_limits(pause.guess)
    return with_drop_moved_while_it_pays(task, found, starts(plan)[0])


def skipped(task: Task, plan: FlightPlan, reason: str) -> Attempt:
    """A plan on record that is not solved for."""
    return replace(_unsolved(task, plan, (reason,)), skipped=True)


def _unsolved(task: Task, plan: FlightPlan, lines: tuple[str, ...]) -> Attempt:
    return Attempt(
        plan=plan,
        sequence=task.arcs_of(plan),
        solution=None,
        limited_arcs=frozenset(),
        shortfall=None,
        history=lines,
    )

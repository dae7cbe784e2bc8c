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
from ascentopt.optimal.solve.flown_start import FlownStart, first_guess, second_guess
from ascentopt.optimal.solve.structure_solver import StructureSolver, has_known_outcome
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved
from ascentopt.optimal.warm_start.parking_orbit import wants_parking
from ascentopt.optimal.warm_start.remap import with_coast_before_stage
from ascentopt.optimal.warm_start.transfer_orbit import (
    mission_to_transfer_ellipse,
    with_transfer_added,
)

AttemptStart = Callable[[tuple[str, ...]], Attempt]
"""From the history so far to an attempt that goes on with it."""


def attempt_at(task: Task, plan: FlightPlan) -> Attempt:
    """Guess, then solve without the limits on loads on a coarse mesh.

    Where a transfer falls short, or is not solved, once more from a flown guess, and from another
    one but in haste: a flight that misses the orbit may be a local optimum. So may one to an orbit
    that no burn from the pad ends in: there both are solved for. Where nothing is known then, the
    miss is a violation, not an impulse. The history says so. Where a tank that may be overdrawn
    leads nowhere, the tank as it is may: with little thrust a longer burn ends below the ground.
    """
    task.watch.begins(f"{plan}: begun")
    tried: list[Attempt] = []
    every = task.exhaustive or wants_parking(task.mission)
    for begin in _attempt_starts(task, plan):
        tried.append(begin(tried[-1].history if tried else ()))
        last = tried[-1]
        if last.reached and not (last.stopped_short or every):
            break
    if not (task.hasty or any(one.reached for one in tried)):
        tried.append(_from_guess(task, plan, second_guess(plan), tried[-1].history))
        if not any(has_known_outcome(one) for one in tried):
            tried.append(_with_the_miss_as_a_violation(task, plan, tried[-1].history))
    known = any(has_known_outcome(one) for one in tried)
    if not known and task.own_vehicle is not None and not task.hasty:
        return attempt_at(replace(task, vehicle=task.own_vehicle, own_vehicle=None), plan)
    best = max(tried, key=lambda one: one.rank)
    return replace(best, history=tried[-1].history)


def _attempt_starts(task: Task, plan: FlightPlan) -> Iterator[AttemptStart]:
    """Where to begin, in turn: by a transfer where there is one, and from a flown guess.

    To an ellipse flown guesses arrive where it is nearest, and stay there: its far end is the
    better place.
    """
    way = _by_a_transfer(task, plan) if plan.restarts else None
    if way is not None:
        yield way
    yield partial(_from_guess, task, plan, first_guess(plan))


def _from_guess(
    task: Task, plan: FlightPlan, start: InitialGuess, lines: tuple[str, ...]
) -> Attempt:
    again = (f"guess {start}",) if lines else ()
    found = FlownStart.flown(task, plan, start, (*lines, *again)).solve()
    return with_drop_moved_while_it_pays(task, found)


def _with_the_miss_as_a_violation(task: Task, plan: FlightPlan, lines: tuple[str, ...]) -> Attempt:
    """From the first guess: a flight that is nearly all virtual strays from there."""
    told = (*lines, "no guess has led anywhere: the first one with its miss as a violation")
    begun = FlownStart.flown(task, plan, first_guess(plan), told)
    free = begun.guess.free.copy()
    free[:VIRTUAL] = 0.0
    return replace(begun, guess=replace(begun.guess, free=free)).solve()


def attempt_from_first_guess(task: Task, plan: FlightPlan) -> Attempt:
    """As `attempt_at`, from the first guess alone."""
    return _from_guess(task, plan, first_guess(plan), ())


def attempt_from_changed_guess(
    task: Task, plan: FlightPlan, start: InitialGuess, change: Callable[[Sequence, Guess], Guess]
) -> Attempt:
    """One attempt from a guess that is changed first, to see what other starts lead to."""
    begun = FlownStart.flown(task, plan, start, ())
    return replace(begun, guess=change(begun.solver.flight.sequence, begun.guess)).solve()


def begins_by_a_transfer(task: Task, plan: FlightPlan) -> bool:
    """Whether a transfer is what a plan is begun by."""
    return plan.restarts > 0 and mission_to_transfer_ellipse(task.mission) is not None


def _by_a_transfer(task: Task, plan: FlightPlan) -> AttemptStart | None:
    """An attempt from the burn into a transfer ellipse; None where the orbit is too low."""
    mission = mission_to_transfer_ellipse(task.mission)
    if mission is None:
        return None
    aimed = replace(task, mission=mission)

    def begin(lines: tuple[str, ...]) -> Attempt:
        first = attempt_from_first_guess(aimed, replace(plan, restarts=0, fairing_arc=None))
        lines = (*lines, "by a transfer", *first.history)
        flown = replace(plan, fairing_arc=first.plan.fairing_arc)
        sequence = task.arcs_of(flown)
        if not first.reached:
            return _unsolved(task, plan, lines)
        pause = with_transfer_added(first.found, first.sequence, sequence, task.mission)
        if pause is None:
            return _unsolved(task, plan, lines)
        solver = StructureSolver.begun_from(first, task, flown, pause.meshes, lines)
        return solver.solve_from_good_guess(pause.guess)

    return begin


def with_drop_moved_while_it_pays(task: Task, attempt: Attempt) -> Attempt:
    """The fairing's drop moved to a neighbouring arc of the flight as long as that pays.

    From the flight itself, told anew, and where that leads nowhere from a guess; not in haste.
    """
    for _ in attempt.sequence.arcs:
        arc = attempt.arc_for_the_fairing()
        if arc is None:
            break
        moved = _with_drop_in(task, attempt, arc)
        if not task.hasty and (moved is None or moved.rank <= attempt.rank):
            moved = _dropped_in_from_a_guess(task, moved or attempt, arc)
        if moved is None:
            break
        if moved.rank <= attempt.rank:
            return replace(attempt, history=(*moved.history, "moved back"))
        attempt = moved
    return attempt


def _dropped_in_from_a_guess(task: Task, attempt: Attempt, arc: str) -> Attempt:
    plan = replace(attempt.plan, fairing_arc=arc)
    lines = (*attempt.history, f"fairing drop moved to {arc!r}, from a guess")
    return FlownStart.flown(task, plan, first_guess(plan), lines).solve()


def _with_drop_in(task: Task, attempt: Attempt, arc: str) -> Attempt | None:
    """From the flight of an attempt, the fairing dropped in another arc; None if it cannot."""
    flight, fairing = attempt.best_known_flight, task.vehicle.fairing
    if flight is None or fairing is None:
        return None
    plan = replace(attempt.plan, fairing_arc=arc)
    told = with_drop_moved(flight, attempt.sequence, task.arcs_of(plan), fairing.mass)
    if told is None:
        return None
    lines = (*attempt.history, f"fairing drop moved to {arc!r}")
    solver = StructureSolver.begun_from(attempt, task, plan, told.meshes, lines)
    if attempt.reached:
        return solver.solve_from_flight_at_hand(told.guess)
    return solver.solve_without_load_limits(told.guess)


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
    pause = with_coast_before_stage(flight, attempt.sequence, sequence, stage)
    if pause is None:
        return None
    told = (f"from {attempt.plan}, with a coast put in before stage {stage + 1}",)
    solver = StructureSolver.begun_from(attempt, task, plan, pause.meshes, told)
    found = solver.solve_without_load_limits(pause.guess)
    return with_drop_moved_while_it_pays(task, found)


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

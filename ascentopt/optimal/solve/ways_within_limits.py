"""By what means an attempt is brought within the limits on loads, in turn."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.solve.flown_start import FlownStart, first_guess
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.relaxed_tank import (
    solve_with_relaxed_tank,
    with_limits_imposed_again,
)
from ascentopt.optimal.solve.turn_rate import fixed_thrust, spliced, with_turn_rate, would_jump
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.thrust_direction import guess_on_sequence

LIMITS_COST_MUCH = 1e-3
"""Share of the propellant that limits on loads cost at least where the flight without them is no
good start: ten times what an answer may be worse than the best structure."""

FROM_GUESS = "within the limits from its guess on"
"""In the history."""


def impose_limits(task: Task, attempt: Attempt) -> Attempt:
    """Impose the limits on loads on an attempt that was solved without them.

    At once where the solver can follow; else the limits are eased, as little as can be. Where that
    is not solved either, a tank that may be overdrawn is the last resort: in one that is nearly
    empty no step towards the limits is small enough.
    """
    found = impose_limits_directly(task, attempt)
    return found if found.keeps_limits else impose_limits_by_relaxation(task, found)


def impose_limits_directly(task: Task, attempt: Attempt) -> Attempt:
    """Impose the limits where the solver can follow at once; else only say that it tried."""
    solver = LimitedSolver.resumed(task, attempt)
    found = solver.impose_limits_directly(attempt)
    return found or replace(attempt, history=solver.structure.history)


def with_start_within_limits(task: Task, attempt: Attempt, free: Attempt) -> Attempt:
    """An attempt within the limits, or a better one that was within them from its guess on.

    A flight without them may be far from the best within them, and lead to a worse one.

    Args:
        task: whose limits they are.
        attempt: brought within them, or not, from that flight.
        free: the flight. Where the limits cost it little it was a good start.
    """
    dear = LIMITS_COST_MUCH * task.vehicle.propellant_mass
    if task.hasty or not free.reached or free.unspent - attempt.unspent < dear:
        return attempt
    begun = FlownStart.flown(task, free.plan, first_guess(free.plan), (FROM_GUESS,))
    arcs = LimitedSolver.resumed(task, free).overloaded_arcs(free.found)
    found = begun.solve_within_limits(arcs)
    return found if found.flies and found.unspent > attempt.unspent else attempt


def impose_limits_by_relaxation(task: Task, attempt: Attempt) -> Attempt:
    """As `impose_limits`, where the solver could not follow at once."""
    steady = _impose_limits_with_turn_rate(task, attempt)
    if steady.keeps_limits or steady.least_violation is not None:
        return steady
    attempt = replace(attempt, history=steady.history)
    eased = LimitedSolver.resumed(task, attempt).impose_limits_elastically(attempt)
    if eased.reached or eased.least_violation is not None:
        return eased
    attempt = replace(attempt, history=eased.history)
    relaxed = solve_with_relaxed_tank(task, attempt, attempt)
    return relaxed if relaxed.flies else eased


def _impose_limits_with_turn_rate(task: Task, attempt: Attempt) -> Attempt:
    """By relaxation, with a direction that takes its time where the thrust is what it is.

    Limits press a direction there until it jumps, which no mesh follows. One that takes its
    time is led within them soonest, and let go after it where it would not jump. The attempt
    stands where every arc can throttle.
    """
    names = overloaded_fixed_thrust_arcs(task, attempt)
    if not names:
        return attempt
    begun = with_turn_rate(task, attempt, names)
    steady = LimitedSolver.resumed(task, begun).impose_limits_elastically(begun)
    if not steady.keeps_limits or would_jump(steady, names):
        return steady
    loose = replace(steady, plan=attempt.plan, sequence=attempt.sequence)
    solver = LimitedSolver.resumed(task, loose)
    solver.structure.ladder.note("it would not jump, and turns as it likes")
    free = solver.solve_within_limits(loose, guess_on_sequence(loose.sequence, steady.found))
    return free if free.keeps_limits else replace(steady, history=free.history)


def overloaded_fixed_thrust_arcs(task: Task, attempt: Attempt) -> tuple[str, ...]:
    """Arcs that break a limit on loads and cannot throttle."""
    broken = LimitedSolver.resumed(task, attempt).overloaded_arcs(attempt.found)
    return fixed_thrust(attempt.sequence, broken)


def impose_limits_by_splicing(task: Task, attempt: Attempt, other: Attempt, arcs: int) -> Attempt:
    """The attempt from another one within the limits, with which it shares so many arcs.

    Not limited where that leads nowhere.
    """
    turning = with_turn_rate(task, attempt, other.plan.turning_arcs)
    begun = replace(turning, limited_arcs=other.limited_arcs)
    own = guess_on_sequence(begun.sequence, attempt.found)
    solver = LimitedSolver.resumed(task, begun)
    solver.structure.ladder.note(f"begun as {other.plan} within the limits")
    found = solver.solve_within_limits(begun, spliced(other.found.as_guess(), own, arcs))
    return found if found.keeps_limits else replace(attempt, history=found.history)


def shortfall_within_limits(task: Task, attempt: Attempt) -> Attempt:
    """What falls short without limits on loads, within them; it stands where that is unsolved.

    A flight that keeps them anyhow needs no solve.
    """
    nearest = attempt.nearest_flight
    if nearest is None or attempt.shortfall_keeps_limits:
        return attempt
    solver = LimitedSolver.resumed(task, replace(attempt, solution=nearest))
    broken = solver.overloaded_arcs(nearest)
    if not broken - attempt.limited_arcs:
        return replace(attempt, shortfall_keeps_limits=True)
    solver.structure.ladder.note("the nearest flight, within the limits")
    limited_arcs = broken | attempt.limited_arcs
    start = nearest.as_guess()
    found = solver.structure.solve_from_guess(task.mission.limits, limited_arcs, start)
    if found.shortfall is None:
        found = solver.shortfall_by_elastic_limits(nearest, limited_arcs)
    if found.shortfall is None:
        barred = found.least_violation_anywhere
        return replace(attempt, history=found.history, least_violation_anywhere=barred)
    if found.reached:
        return with_limits_imposed_again(task, found)
    return replace(found, shortfall_keeps_limits=True)

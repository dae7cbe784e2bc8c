"""From a coarse mesh to a fine one, twice if need be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ascentopt.collocation import (
    Accuracy,
    NotConverged,
    Outcome,
    Problem,
    Refinement,
    Solution,
    SolverSettings,
    refine,
    refine_switching_points,
    remeshed,
    solve,
)
from ascentopt.collocation.refinement.refinement import finer
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.solve.ladder import MASS_BARRIER, ONWARD_BARRIER
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.relaxed_tank import (
    RELAXED_TANK,
    can_relax_tank,
    measured_by_own_tank,
    remaining_delta_v,
    with_relaxed_tank,
)
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.solve.turn_rate import jumping_arcs, with_turn_rate
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.thrust_direction import guess_on_sequence
from ascentopt.progress import TimeIsUp

FIRST_ROUNDS = 4
"""Rounds of refinement, more than most cases take, before it is asked whether others will do."""

LAST_ROUNDS = 4
"""Rounds beyond those asked for, before all is begun anew from the trajectory alone, which takes
three times as long: beside a jump of a limited control an interval is left over now and then."""

CORNERS = 4
"""Rounds for the throttle's corners: the first takes 15 to 25 iterations, the others 5 to 10."""


NEARLY_EMPTY = 10.0
"""m/s left in a tank that a finer mesh may find empty: first meshes are wrong by up to 0.1 % of the
final mass."""


def refine_mesh(task: Task, attempt: Attempt) -> Attempt:
    """Refine the mesh of an attempt that reached the orbit, as far as that goes.

    Where it does not go to the tolerance, the last mesh that was solved stands, unrefined.
    A finer mesh may find a tank empty that seemed to hold enough: where little is left it is
    refined with a tank that may be overdrawn, and falls short if it comes to that.
    """
    done = refine_mesh_or_limit_turns(task, attempt)
    left = remaining_delta_v(task.vehicle, attempt.sequence, attempt.final_mass)
    may_relax = can_relax_tank(task.vehicle) and not attempt.plan.unlit
    if done.refined or left > NEARLY_EMPTY or not may_relax:
        return done
    relaxed = with_relaxed_tank(task)
    begun = replace(attempt, history=(*done.history, RELAXED_TANK))
    solver = StructureSolver.resumed(relaxed, begun)
    coarse = solver.solve_with_multipliers_of(attempt)
    if coarse is None:
        return replace(done, history=solver.history)
    fine = refine_mesh_or_limit_turns(relaxed, coarse)
    if not fine.refined:
        return replace(done, history=fine.history)
    own = measured_by_own_tank(task, fine)
    if not own.reached:  # the mesh is fine, and the tank too small: there is no flight on it
        return replace(own, refined=False)
    return replace(own, refined=is_fine_enough(own.found, task.refinement))


def refine_mesh_or_limit_turns(task: Task, attempt: Attempt) -> Attempt:
    """As `refine_mesh`, with the tank as it is.

    Where a mesh is not refined since the direction of thrust jumps, that is given a turn rate.
    """
    done = on_finer_meshes(task, attempt)
    names = () if done.refined else jumping_arcs(done)
    if not names:
        return done
    begun = with_turn_rate(task, replace(attempt, history=done.history), names)
    start = guess_on_sequence(begun.sequence, attempt.found)
    steady = LimitedSolver.resumed(task, begun).solve_within_limits(begun, start)
    if steady.flies:
        steady = on_finer_meshes(task, steady)
    return steady if steady.refined else replace(done, history=steady.history)


def on_finer_meshes(task: Task, attempt: Attempt) -> Attempt:
    """The attempt on the finest mesh that is reached; its history says how fine that is."""
    rule = task.refinement
    task.watch.begins(f"{attempt.plan}: refinement")

    def hopeless(solution: Solution) -> bool:
        return bool(jumping_arcs(replace(attempt, solution=solution)))

    solution, failed = refined_with_retries(attempt.found, rule, task.settings_in_time, hopeless)
    done = is_fine_enough(solution, rule)
    if done:
        solution, wide = with_narrow_corners(solution, rule, task.settings_in_time)
        failed = (*failed, *wide)
    line = (
        f"{'refined' if done else 'refined only'} to "
        f"{sum(arc.arc.mesh.nodes for arc in solution.arcs)} nodes, continuous error "
        f"{Accuracy.of(solution).error:.1e}"
    )
    task.watch.finishes(f"{attempt.plan}: {line}")
    lines = (*attempt.history, *failed, line)
    return replace(attempt, solution=solution, refined=done, history=lines)


def refined_with_retries(
    found: Solution,
    rule: Refinement,
    settings: Callable[[], SolverSettings],
    hopeless: Callable[[Solution], bool] = lambda _: False,
) -> tuple[Solution, tuple[str, ...]]:
    """The solution on the finest mesh that is reached, and a line for what failed.

    Multipliers of a coarse mesh on which a limit is overstepped between the nodes may mislead the
    next one: where they do, the trajectory is taken alone, which takes three times the iterations.

    Args:
        found: on a coarse mesh.
        rule: when to stop.
        settings: of the next solve, with what is left of the time.
        hopeless: whether no mesh will do for a solution.
    """
    solved, told = _with_multipliers(found, rule, settings, hopeless)
    if told is None:
        return solved, ()
    if is_fine_enough(solved, rule) or hopeless(solved):
        return solved, (told,)
    best, more = _without_multipliers(found, rule, settings)
    return (best, (told, *more)) if is_fine_enough(best, rule) else (solved, (told, *more))


def _with_multipliers(
    found: Solution,
    rule: Refinement,
    settings: Callable[[], SolverSettings],
    hopeless: Callable[[Solution], bool],
) -> tuple[Solution, str | None]:
    """The solution on the finest mesh, and what failed, if anything did."""
    told = None
    for rounds in (min(FIRST_ROUNDS, rule.rounds), max(rule.rounds - FIRST_ROUNDS, 0), LAST_ROUNDS):
        some, onward = replace(rule, rounds=rounds), settings()
        try:
            return refine(found.problem, found, some, onward.settled if told else onward), None
        except NotConverged as failure:
            found = failure.solved if failure.solved is not None else found
            told = f"refinement: {failure}"
            if failure.solution.outcome is not Outcome.COARSE or hopeless(found):
                break
    return found, told


def with_narrow_corners(
    found: Solution, rule: Refinement, settings: Callable[[], SolverSettings]
) -> tuple[Solution, tuple[str, ...]]:
    """A solution on a mesh fine enough with the throttle's corners in narrow intervals.

    Without them the cost is right, and partials are not: see `refine_switching_points`. Where the
    solver cannot follow the last good mesh stands, and a line says so.
    """
    told = "corners of the throttle stay in wide intervals, and partials may be wrong by per cents"
    try:
        sharp = refine_switching_points(found, rule, CORNERS, settings())
        if sharp is found:
            return found, ()
        return refine(sharp.problem, sharp, rule, settings().settled), ()
    except TimeIsUp:
        return found, (f"{told}: no time was left",)
    except NotConverged as failure:
        last = failure.solved
        kept = last if last is not None and is_fine_enough(last, rule) else found
        return kept, (f"{told}: {failure}",)


def is_fine_enough(solution: Solution, rule: Refinement) -> bool:
    """Whether the mesh is as fine as is asked for."""
    accuracy = Accuracy.of(solution, rule.briefest)
    return accuracy.error <= rule.tolerance and accuracy.excess <= rule.path_tolerance


def _without_multipliers(
    found: Solution, rule: Refinement, settings: Callable[[], SolverSettings]
) -> tuple[Solution, tuple[str, ...]]:
    told = "refinement once more, without multipliers"
    for _ in range(rule.rounds):
        if is_fine_enough(found, rule):
            break
        meshes = tuple(finer(arc, rule) for arc in found.arcs)
        try:
            found = _solved_near(remeshed(found.problem, meshes), found, settings)
        except NotConverged as failure:
            return found, (f"{told}: {failure}",)
    return found, (told,)


def _solved_near(
    problem: Problem, found: Solution, settings: Callable[[], SolverSettings]
) -> Solution:
    """From a trajectory on coarser meshes, and on with the multipliers where that creeps.

    Raises:
        NotConverged: as the solver.
    """
    try:
        near = replace(settings(), near_barrier=MASS_BARRIER)
        return solve(problem, found.as_guess(), near)
    except NotConverged as failure:
        return solve(problem, failure.solution, replace(settings(), barrier=ONWARD_BARRIER))

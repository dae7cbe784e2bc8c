"""The best flight that can be brought to its last mesh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ascentopt.collocation import Accuracy
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.explain.refusal import infeasible
from ascentopt.optimal.problem.violations import loads
from ascentopt.optimal.result.certificate import CONTINUOUS_ERROR
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.census import SETTLED_BY
from ascentopt.optimal.structure.limits_in_turn import best_first
from ascentopt.optimal.structure.search import without_brief_arcs
from ascentopt.optimal.task import Task


def refined_within_limits(task: Task, attempt: Attempt) -> Attempt:
    """The attempt on its last mesh, within the limits on loads there.

    An arc whose loads were within them on the first mesh was not watched; on a finer one they may
    be some per cent greater.
    """
    fine = refine_mesh(task, attempt)
    if not (fine.flies and _overloaded(task, fine)):
        return fine
    bound = impose_limits(task, replace(fine, keeps_limits=False))
    return refine_mesh(task, bound) if bound.flies else bound


def _overloaded(task: Task, attempt: Attempt) -> bool:
    """Whether an arc on which no limit was imposed breaks one by more than a mesh may leave."""
    most, limits = 1.0 + task.refinement.path_tolerance, task.mission.limits
    told = loads(attempt.found, attempt.sequence)
    return any(one.arc not in attempt.limited_arcs and one.ratio(limits) > most for one in told)


def _passes_for_certificate(task: Task, attempt: Attempt) -> bool:
    """Whether a flight is near enough to its equations and limits between the nodes."""
    if not attempt.flies:
        return False
    accuracy = Accuracy.of(attempt.found, task.refinement.briefest)
    kept = accuracy.excess <= task.refinement.path_tolerance
    return kept and accuracy.error <= CONTINUOUS_ERROR


def best_refined(
    task: Task,
    attempts: list[Attempt],
    finish: Callable[[Task, Attempt], Attempt] = refined_within_limits,
) -> tuple[Attempt, list[Attempt]]:
    """The best attempt that can be refined, and the others; else the best one as far as it goes.

    One that stops on the way is taken where its error passes for a certificate. Any other keeps its
    place in the list and says so: it may be better than the answer, but nobody knows.

    Args:
        task: what is asked.
        attempts: the best first, on first meshes.
        finish: brings an attempt to its last mesh.

    Raises:
        InfeasibleAscent: when on finer meshes none has enough propellant.
    """
    done: list[Attempt] = []
    left = list(attempts)
    while left:
        attempt, *left = left
        open_still = attempt.reached and not attempt.keeps_limits
        bound = impose_limits(task, attempt) if open_still else attempt
        done.append(finish(task, bound) if bound.flies else bound)
        if done[-1].refined or _passes_for_certificate(task, done[-1]):
            return _beside_what_promises_more(task, done[-1], [*done[:-1], *left], finish)
        if bound.flies:
            left = best_first([*without_brief_arcs(task, bound, [*done, *left]), *left])
    flight = next((attempt for attempt in done if attempt.flies), None)
    if flight is None:
        raise infeasible(task, done)
    return flight, [attempt for attempt in done if attempt is not flight]


def _beside_what_promises_more(
    task: Task, best: Attempt, others: list[Attempt], finish: Callable[[Task, Attempt], Attempt]
) -> tuple[Attempt, list[Attempt]]:
    """The best flight on its last mesh, beside those that have more left on their first.

    Its own first mesh may have promised more than it keeps, and than another's.
    """
    worth = SETTLED_BY * task.vehicle.propellant_mass
    for one in best_first(others):
        if one.refined is None and one.flies and one.unspent > best.unspent + worth:
            fine = finish(task, one)
            others = [fine if other is one else other for other in others]
            if fine.refined and fine.unspent > best.unspent:
                others = [best if other is fine else other for other in others]
                best = fine
    return best, others

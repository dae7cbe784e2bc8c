"""What a neighbouring ascent knows: the solution that it keeps, where that fits what is asked."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import TypeGuard

import numpy as np

from ascentopt.collocation import Problem
from ascentopt.errors import InputError
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.lift_off_instant import with_awaited_angles_free
from ascentopt.optimal.task import Task
from ascentopt.persistence import differences


@dataclass(frozen=True, kw_only=True, eq=False)
class Neighbour:
    """A neighbouring ascent beside what is asked now.

    Args:
        ascent: of a case that differs in numbers.
        attempt: its solution.
        case: what it was solved for.
        loosened: names of the limits that were tighter.
    """

    ascent: Ascent
    attempt: Attempt
    case: Case
    loosened: tuple[str, ...] = ()


def neighbour_of(task: Task, ascent: Ascent) -> Neighbour | None:
    """The neighbour of a task; None where it says nothing of the structures.

    Where more than numbers differ, its own search was stopped, or every structure is asked for.

    Raises:
        InputError: where the ascent does not keep its solution.
    """
    kept = ascent.solved_program
    if kept is None:
        raise InputError(
            f"optimize: near is an ascent of {ascent.vehicle.name!r} without its solution: an "
            "older version saved it, or its search was stopped. Solve it again, and give that."
        )
    mission = ascent.mission
    if kept.awaited:
        mission = with_awaited_angles_free(replace(mission, lift_off_time=None))
    changes = [
        *differences(ascent.vehicle, task.vehicle, "vehicle"),
        *differences(mission, task.mission, "mission"),
    ]
    unfinished = ascent.candidates[0].standing is not Standing.BEST
    counts = {*_counts(task.vehicle), *_counts(task.mission)}
    alike = all(
        _place(path) not in counts and _is_of_degree(old, new) for path, old, new in changes
    )
    if unfinished or task.exhaustive or not alike:
        return None
    attempt = kept.attempt(ascent.vehicle, mission)
    if not _has_same_program(task, attempt):
        return None
    limits = ("mission.limits", "vehicle.fairing.max_heating")
    loosened = tuple(
        path
        for path, old, new in changes
        if path.startswith(limits) and _is_number(old) and _is_number(new) and old < new
    )
    case = Case(ascent.vehicle, mission)
    return Neighbour(ascent=ascent, attempt=attempt, case=case, loosened=loosened)


def _has_same_program(task: Task, attempt: Attempt) -> bool:
    """Whether a neighbour's solution has a value for each unknown here, and no other."""
    try:
        sequence = task.arcs_of(attempt.plan)
    except InputError:
        return False
    if sequence.names != attempt.sequence.names:
        return False
    vehicle, mission = task.vehicle, task.mission
    written = attempt.transcription_of(vehicle, mission, sequence, attempt.found)
    return _sizes(written.greatest_mass_problem()) == _sizes(attempt.found.problem)


def _sizes(problem: Problem) -> tuple[object, ...]:
    models = [arc.model for arc in problem.arcs]
    arcs = [(len(one.states), len(one.controls), len(one.path)) for one in models]
    return (*arcs, *(len(one.bounds) for one in problem.conditions), len(problem.free))


def _is_of_degree(old: object, new: object) -> bool:
    """Whether two values differ in degree, not in kind: numbers, arrays of one shape, or names."""
    if isinstance(old, np.ndarray) and isinstance(new, np.ndarray):
        return bool(old.shape == new.shape)
    if _is_number(old) and _is_number(new):
        return True
    return isinstance(old, str) and isinstance(new, str)


def _is_number(value: object) -> TypeGuard[float]:
    """Whether it is one, whole or not: an impulse of 311 s is no count."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _place(path: str) -> str:
    """The field that a path ends in, as in ``stages[0].restarts``."""
    return path.rpartition(".")[2].partition("[")[0]


def _counts(held: object) -> Iterator[str]:
    """Names of the fields that count something, of an object and all that it holds."""
    if isinstance(held, tuple):
        for one in held:
            yield from _counts(one)
    elif is_dataclass(held):
        for one in fields(held):
            if re.search(r"\bint\b", str(one.type)):
                yield one.name
            yield from _counts(getattr(held, one.name))

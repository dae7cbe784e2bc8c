"""The solve of one point, here or in another process."""

from __future__ import annotations

from dataclasses import dataclass
from logging import getLogger
from pickle import dumps, loads
from time import monotonic
from typing import Any

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.optimal.optimize import Effort, optimize, optimum
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Watch
from ascentopt.studies.sweep.answer import SweepAnswer, of_ascent, of_refusal
from ascentopt.studies.sweep.schedule import Solve


@dataclass(frozen=True, eq=False)
class PointTask:
    """What is sent to whoever solves a point.

    Attributes:
        solve: which one.
        case: vehicle and mission.
        effort: as in `optimize`.
        near: the neighbour's ascent, pickled; None for none.
        filed: whether its ascent goes into a file.
        tries: how many workers were lost with it.
    """

    solve: Solve
    case: Case
    effort: Effort
    near: bytes | None
    filed: bool = False
    tries: int = 0


@dataclass(frozen=True, eq=False)
class PointFound:
    """What comes back: the answer and its ascent, or what went wrong within the solve.

    Packing an ascent takes longer than all else that is done with it: whoever solves does it, and
    the one who hands out points to hundreds only passes it on.

    Attributes:
        answer: None where the solve went wrong.
        ascent: pickled; None where nothing flies.
        file: the text of its file; empty where none is asked for.
        fault: what went wrong.
    """

    answer: SweepAnswer | None = None
    ascent: bytes | None = None
    file: str = ""
    fault: Exception | None = None


def solve_elsewhere(task: PointTask) -> PointFound:
    """Solve a point in another process: what comes out as an error is a worker that was lost."""
    try:
        return solve_point(task)
    except Exception as fault:  # noqa: BLE001 - told apart from what is wrong with the process
        return PointFound(fault=fault)


def solve_point(task: PointTask, watch: Watch[Any] | None = None) -> PointFound:
    """Solve a point; a refusal is an answer.

    Args:
        task: the point.
        watch: of the sweep, where it is solved in its process.
    """
    begun = monotonic()
    try:
        ascent = _ascent(task, watch)
    except (InfeasibleAscent, InputError) as refusal:
        return PointFound(answer=of_refusal(task.solve, refusal, monotonic() - begun))
    return PointFound(
        answer=of_ascent(task.solve, ascent, monotonic() - begun),
        ascent=dumps(ascent),
        file=ascent.to_text() if task.filed else "",
    )


def _ascent(task: PointTask, watch: Watch[Any] | None) -> Ascent:
    """From the neighbour; from nothing where that cannot be, so that only the point is refused."""
    try:
        return _solved(task, None if task.near is None else loads(task.near), watch)
    except InputError:
        if task.near is None:
            raise
        return _solved(task, None, watch)


def _solved(task: PointTask, near: Ascent | None, watch: Watch[Any] | None) -> Ascent:
    vehicle, mission = task.case.vehicle, task.case.mission
    if watch is None:
        return optimize(vehicle, mission, task.effort, near=near)
    inner = watch.inside("optimize", getLogger("ascentopt.optimal"))
    return optimum(vehicle, mission, task.effort, watch=inner, near=near).ascent

"""Ascents over a grid of numbers, each solved from its neighbour."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from logging import getLogger
from pathlib import Path

from ascentopt.arguments import checked
from ascentopt.baselines.inputs import inputs_of
from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.studies.sweep.answer import SweepAnswer, of_refusal
from ascentopt.studies.sweep.manifest import Manifest
from ascentopt.studies.sweep.point_solve import (
    PointFound,
    PointTask,
    solve_elsewhere,
    solve_point,
)
from ascentopt.studies.sweep.points.grid import SweptPoints, swept_points
from ascentopt.studies.sweep.points.neighbours import neighbourhood
from ascentopt.studies.sweep.points.varied import Varied
from ascentopt.studies.sweep.promise import promises
from ascentopt.studies.sweep.schedule import Schedule, Solve
from ascentopt.studies.sweep.store import FolderStore, Store, store_for
from ascentopt.studies.sweep.swept import Sweep, point_text
from ascentopt.studies.sweep.work import WorkElsewhere, work_here

_LOG = getLogger("ascentopt.studies")


@checked
def sweep(
    vehicle: Vehicle,
    mission: Mission,
    over: Mapping[str, Sequence[object] | Varied] | Sequence[Mapping[str, object]],
    effort: Effort = Effort(),
    *,
    store: str | Path | None = None,
    progress: Progress[Sweep] | None = None,
    time_limit: float | None = None,
    executor: Executor | Callable[[], Executor] | None = None,
) -> Sweep:
    """Return the ascents over a grid of numbers, or of other parts, of a vehicle and a mission.

    One point is solved from nothing, the others from a neighbour's ascent, from the middle
    outwards. Where neighbours fly other structures, or one flies and the other is refused, each is
    solved again from the other. Which is solved from which follows from the points alone: the table
    does not depend on who solves them, on how many do, or on a stop in between.

    Args:
        vehicle, mission: what is varied.
        over: what is varied, by name, with its values in SI; all are combined. Or a list of points,
            each with one value for each name. A name is the place of a field below vehicle and
            mission, "orbit.altitude", "payload_mass", "fairing.mass", or of a stage or booster
            group by its name, "first.dry_mass", "first.engine.vacuum_isp"; "first.thrust" is its
            mean thrust in vacuum, N, with all its thrusts in proportion. A value may be whatever
            stands there: a number, None, a whole orbit or engine. For what no field is, `Varied`.
        effort: as in `optimize`, for every ascent.
        store: a folder for answers and ascents, each written as it is found. Called again with what
            it was begun with, the sweep goes on there: what is lost is what was in flight. None
            keeps all in memory.
        progress: is given a `Step` for each solve; its ``so_far`` is the sweep as it stands.
        time_limit: seconds of the clock for the whole.
        executor: solves points side by side, in processes, on a cluster by its own executor; each
            is sent some 0.7 MB. A worker that is lost has its point sent out again, three times at
            most. A pool that breaks ends the sweep, unless a function that makes pools is given
            here: then it is asked for another. When a solve fails all others are finished before
            its error is raised. What is under way in other processes when this one is stopped goes
            on there to its end.

    Raises:
        InputError: for a name of nothing, a value of another kind, no point that can be described,
            or a store that holds another sweep.
        Interrupted: by the keyboard; `best` is the sweep so far.
        OutOfTime: likewise, when the time is up.

    Warns:
        UnusualInputWarning: of values that are possible and mostly a slip, once of each kind.
    """
    watch = Watch("sweep", _LOG, progress, time_limit)
    case = Case(vehicle, mission)
    points = swept_points(case, over)
    kept = store_for(store, Manifest.of(case, effort, points))
    work = _Sweeping(case, points, effort, kept, watch)
    with watch.carrying("sweep", work.so_far):
        work.run(executor)
    return work.so_far()


class _Sweeping:
    """A sweep under way."""

    def __init__(
        self, case: Case, points: SweptPoints, effort: Effort, store: Store, watch: Watch[Sweep]
    ) -> None:
        self._case, self._points, self._effort = case, points, effort
        self._store, self._watch = store, watch
        self._cases: dict[int, Case] = {}
        self._refused: dict[int, SweepAnswer] = {}
        for number, one in enumerate(points.cases):
            if isinstance(one, InputError):
                self._refused[number] = of_refusal(Solve(number), one, 0.0)
            else:
                self._cases[number] = one
        self._solves = [0] * len(points.cases)
        self._schedule = Schedule[SweepAnswer](neighbourhood(self._cases), self._promises)

    def run(self, executor: Executor | Callable[[], Executor] | None) -> None:
        """Solve all that is to be solved."""
        self._watch.total = self._schedule.total
        begin = self._schedule.begin()
        if executor is None:
            work_here(begin, self, self._solved_here, self._watch.deadline)
        else:
            WorkElsewhere(self, executor, self._watch.deadline, solve_elsewhere).run(begin)

    def _promises(self, own: SweepAnswer, other: SweepAnswer, point: int, neighbour: int) -> bool:
        here, there = (inputs_of(c.vehicle, c.mission)
                       for c in (self._cases[point], self._cases[neighbour]))  # fmt: skip
        return promises(own, other, here, there)

    def _solved_here(self, task: PointTask) -> PointFound:
        return solve_point(task, self._watch)

    def task(self, solve: Solve) -> PointTask | None:
        """What to send; None where its answer is kept already."""
        if self._store.answer(solve) is not None:
            return None
        near = None if solve.near is None else self._store.packed(solve.near)
        self._watch.begins(self._text(solve))
        case, filed = self._cases[solve.point], self._store.filed
        return PointTask(solve, case, self._effort, near, filed=filed)

    def taken(self, solve: Solve, found: PointFound | None) -> Iterable[Solve]:
        """Keep what was found, or what is kept already; what may be solved next."""
        answer = self._store.answer(solve) if found is None else found.answer
        if answer is None:
            raise LookupError(f"{solve} was neither solved nor kept")
        if found is not None:
            self._store.keep(answer, found)
        self._solves[solve.point] += 1
        following = self._schedule.take(solve, answer)
        self._watch.total = self._schedule.total
        before = " (from the store)" if found is None else ""
        self._watch.finishes(f"{self._text(solve)}: {answer}{before}")
        return following

    def lost(self, solve: Solve, fault: BaseException, *, again: bool) -> None:
        """Tell that a worker was lost."""
        what = "it is sent out again" if again else "it is given up"
        text = f"{self._text(solve)}: its worker was lost ({type(fault).__name__}: {fault}); {what}"
        _LOG.warning("sweep: %s", text)
        self._watch.begins(text)
        if not again:
            fault.add_note(
                f"sweep: point {solve.point} was given up after losing its worker. What is "
                "finished is in the store, where there is one: call it again to go on."
            )

    def so_far(self) -> Sweep:
        """The sweep as it stands."""
        best = {number: answer for number, (_, answer) in self._schedule.best.items()}
        answers = [self._refused.get(k) or best.get(k) for k in range(len(self._solves))]
        folder = self._store.folder if isinstance(self._store, FolderStore) else None
        kept = () if folder is not None else tuple(map(self._ascent, answers))
        return Sweep(
            vehicle=self._case.vehicle,
            mission=self._case.mission,
            names=self._points.names,
            values=self._points.values,
            shape=self._points.shape,
            answers=tuple(answers),
            solves=tuple(self._solves),
            store="" if folder is None else str(folder),
            ascents=kept,
        )

    def _ascent(self, answer: SweepAnswer | None) -> Ascent | None:
        if answer is None or not answer.flies:
            return None
        return self._store.ascent((answer.point, answer.serial))

    def _text(self, solve: Solve) -> str:
        again = f", solved again from point {solve.near[0]}" if solve.serial and solve.near else ""
        values = point_text(self._points.names, self._points.values[solve.point])
        return f"point {solve.point} ({values}{again})"

"""Solves of a sweep, one after another here or side by side in an executor."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from dataclasses import replace
from queue import Empty, SimpleQueue
from typing import Protocol

from ascentopt.progress import Deadline
from ascentopt.studies.sweep.point_solve import PointFound, PointTask, solve_elsewhere
from ascentopt.studies.sweep.schedule import Solve

MOST_LOST = 3
"""Workers that may be lost with one point before the sweep gives it up: a machine that is taken
away takes one, a point that kills its worker takes them all."""

_LOOK = 0.2
"""s between two looks at the clock and the keyboard."""

Executors = Executor | Callable[[], Executor]


class Work(Protocol):
    """What is done with solves."""

    def task(self, solve: Solve) -> PointTask | None:
        """What to send; None where its answer is kept already."""

    def taken(self, solve: Solve, found: PointFound | None) -> Iterable[Solve]:
        """Keep what was found, or what is kept already; what may be solved next."""

    def lost(self, solve: Solve, fault: BaseException, *, again: bool) -> None:
        """Tell that a worker was lost."""


def work_here(
    begin: Iterable[Solve], work: Work, solve: Callable[[PointTask], PointFound], deadline: Deadline
) -> None:
    """Solve one after another."""
    ready = deque(begin)
    while ready:
        one = ready.popleft()
        deadline.left()
        task = work.task(one)
        found = None if task is None else solve(task)
        if found is not None and found.fault is not None:
            raise found.fault
        ready += work.taken(one, found)


class WorkElsewhere:
    """Solves side by side.

    What goes wrong within a solve is raised once all others are finished. A worker that is lost, as
    every other error of a future is taken for, has its point sent out again, `MOST_LOST` times at
    most. Of a pool that is broken another one is made, where a function that makes them was given.

    Args:
        work: what is done with solves.
        executors: an executor, or what makes one.
        deadline: when to stop.
    """

    def __init__(
        self, work: Work, executors: Executors, deadline: Deadline,
        solve: Callable[[PointTask], PointFound] = solve_elsewhere,
    ) -> None:  # fmt: skip
        self._work, self._deadline, self._solve = work, deadline, solve
        self._make = None if isinstance(executors, Executor) else executors
        self._executor = executors if isinstance(executors, Executor) else executors()
        self._out: dict[Future[PointFound], tuple[Solve, Executor]] = {}
        self._done: SimpleQueue[Future[PointFound]] = SimpleQueue()
        self._tries: dict[Solve, int] = {}
        self._fault: BaseException | None = None

    def run(self, begin: Iterable[Solve]) -> None:
        """All solves and what comes of them."""
        try:
            self._send(begin)
            while self._out:
                self._deadline.left()
                future = self._next()
                if future is not None:
                    self._take(future)
        finally:
            self._end()
        if self._fault is not None:
            raise self._fault

    def _end(self) -> None:
        """Keep what is finished, leave what is not."""
        for future, (solve, _) in self._out.items():
            if not future.cancel() and future.done() and future.exception() is None:
                found = future.result()
                if found.fault is None:
                    self._work.taken(solve, found)
        if self._make is not None:
            self._executor.shutdown(wait=False, cancel_futures=True)

    def _next(self) -> Future[PointFound] | None:
        try:
            return self._done.get(timeout=min(_LOOK, self._deadline.left()))
        except Empty:
            return None

    def _take(self, future: Future[PointFound]) -> None:
        solve, executor = self._out.pop(future)
        try:
            found = future.result()
        except (Exception, CancelledError) as fault:  # noqa: BLE001 - whatever a lost worker raises
            self._lose(solve, executor, fault)
            return
        if found.fault is not None:
            self._fault = self._fault or found.fault
            return
        self._send(self._work.taken(solve, found))

    def _send(self, solves: Iterable[Solve]) -> None:
        waiting = [*solves]
        while waiting:
            solve = waiting.pop(0)
            task = self._work.task(solve)
            if task is None:
                waiting += self._work.taken(solve, None)
            else:
                self._submit(solve, task)

    def _submit(self, solve: Solve, task: PointTask) -> None:
        executor = self._executor
        try:
            # Some executors take equal tasks for one: what is sent again is another.
            task = replace(task, tries=self._tries.get(solve, 0))
            future = executor.submit(self._solve, task)
        except BrokenExecutor as fault:
            self._lose(solve, executor, fault)
            return
        self._out[future] = solve, executor
        future.add_done_callback(self._done.put)

    def _lose(self, solve: Solve, executor: Executor, fault: Exception) -> None:
        tries = self._tries[solve] = self._tries.get(solve, 0) + 1
        broken = isinstance(fault, BrokenExecutor)
        again = tries < MOST_LOST and not (broken and self._make is None)
        self._work.lost(solve, fault, again=again)
        if not again:
            self._fault = self._fault or fault
            return
        if broken and executor is self._executor and self._make is not None:
            self._executor = self._make()
            executor.shutdown(wait=False)
        self._send([solve])

"""Solves side by side: workers that are lost, pools that break, solves that fail."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ThreadPoolExecutor
from time import monotonic, sleep
from typing import Any

import pytest

from ascentopt.progress import Deadline, TimeIsUp
from ascentopt.studies.sweep.point_solve import PointFound, PointTask
from ascentopt.studies.sweep.schedule import Solve
from ascentopt.studies.sweep.work import MOST_LOST, WorkElsewhere, work_here


class Chain:
    """Each of some points is to be solved once the one before it is."""

    def __init__(self, count: int, kept: Iterable[int] = ()) -> None:
        self.count, self.kept = count, {*kept}
        self.done: list[int] = []
        self.losses: list[tuple[int, bool]] = []

    def task(self, solve: Solve) -> PointTask | None:
        return None if solve.point in self.kept else PointTask(solve, None, None, None)  # type: ignore[arg-type]

    def taken(self, solve: Solve, found: PointFound | None) -> list[Solve]:
        assert (found is None) == (solve.point in self.kept)
        self.done.append(solve.point)
        return [Solve(solve.point + 1)] if solve.point + 1 < self.count else []

    def lost(self, solve: Solve, fault: BaseException, *, again: bool) -> None:
        self.losses.append((solve.point, again))


class Losing(Executor):
    """Solves at once, and fails as often as it is told to for each point."""

    def __init__(self, losses: dict[int, int], fault: Exception) -> None:
        self.losses, self.fault = losses, fault
        self.sent: list[PointTask] = []

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        (task,) = args
        self.sent.append(task)
        future: Future[Any] = Future()
        point = task.solve.point
        if self.losses.get(point, 0) > 0:
            self.losses[point] -= 1
            future.set_exception(self.fault)
        else:
            future.set_result(fn(task))
        return future


class Breaking(Losing):
    """A pool that is broken from a loss on."""

    broken = False

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        if self.broken:
            raise self.fault
        future = super().submit(fn, *args)
        self.broken = future.exception() is not None
        return future


def found(task: PointTask) -> PointFound:
    return PointFound()


def elsewhere(work: Chain, executors: Any, solve: Any = found, **more: Any) -> WorkElsewhere:
    return WorkElsewhere(work, executors, more.get("deadline", Deadline()), solve)


@pytest.mark.parametrize("kept", [(), (0, 2), (0, 1, 2, 3)])
def test_what_is_kept_is_not_solved(kept: tuple[int, ...]) -> None:
    here, there, pool = Chain(4, kept), Chain(4, kept), Losing({}, OSError())
    work_here([Solve(0)], here, found, Deadline())
    elsewhere(there, pool).run([Solve(0)])
    assert here.done == there.done == [0, 1, 2, 3]
    assert len(pool.sent) == 4 - len(kept)


@pytest.mark.parametrize("fault", [OSError("gone"), CancelledError()])
def test_a_point_whose_worker_is_lost_is_sent_out_again(fault: Exception) -> None:
    work, pool = Chain(3), Losing({1: MOST_LOST - 1}, fault)
    elsewhere(work, pool).run([Solve(0)])
    assert work.done == [0, 1, 2]
    assert work.losses == [(1, True)] * (MOST_LOST - 1)
    assert [task.tries for task in pool.sent] == [0, 0, 1, 2, 0]


def test_a_point_that_loses_every_worker_is_given_up_after_all_others() -> None:
    work, fault = Chain(2), OSError("gone")
    with pytest.raises(OSError, match="gone"):
        elsewhere(work, Losing({0: 99}, fault)).run([Solve(0), Solve(5)])
    assert work.done == [5]
    assert work.losses[-1] == (0, False)
    assert len(work.losses) == MOST_LOST


def test_a_broken_pool_ends_the_work() -> None:
    work = Chain(3)
    with pytest.raises(BrokenExecutor):
        elsewhere(work, Breaking({1: 1}, BrokenExecutor("dead"))).run([Solve(0)])
    assert work.done == [0]
    assert work.losses == [(1, False)]


def test_another_pool_is_made_where_one_can_be() -> None:
    work = Chain(3)
    pools: list[Executor] = []

    def make() -> Executor:
        pools.append(Breaking({1: 1} if len(pools) < 2 else {}, BrokenExecutor("dead")))
        return pools[-1]

    elsewhere(work, make).run([Solve(0), Solve(7)])
    assert sorted(work.done) == [0, 1, 2, 7]
    assert len(pools) == 3


def test_what_goes_wrong_within_a_solve_is_raised_after_all_others() -> None:
    def fails(task: PointTask) -> PointFound:
        return PointFound(fault=ZeroDivisionError("0") if task.solve.point == 3 else None)

    work = Chain(3)
    with ThreadPoolExecutor(2) as pool, pytest.raises(ZeroDivisionError):
        elsewhere(work, pool, fails).run([Solve(3), Solve(0)])
    assert work.done == [0, 1, 2]
    assert work.losses == []
    with pytest.raises(ZeroDivisionError):
        work_here([Solve(3)], Chain(4), fails, Deadline())


def test_time_that_is_up_leaves_what_is_under_way_and_keeps_what_is_done() -> None:
    def slow(task: PointTask) -> PointFound:
        sleep(0.0 if task.solve.point else 1.5)
        return PointFound()

    work = Chain(0)
    begun = monotonic()
    with ThreadPoolExecutor(2) as pool:
        with pytest.raises(TimeIsUp):
            elsewhere(work, pool, slow, deadline=Deadline.after(0.5)).run([Solve(0), Solve(1)])
        assert monotonic() - begun < 1.4
    assert work.done == [1]


def test_a_pool_that_was_made_for_the_work_is_shut_down() -> None:
    pools: list[ThreadPoolExecutor] = []

    def make() -> Executor:
        pools.append(ThreadPoolExecutor(1))
        return pools[-1]

    elsewhere(Chain(2), make).run([Solve(0)])
    with pytest.raises(RuntimeError, match="shutdown"):
        pools[0].submit(int)

"""Cases spread over an executor; every finished row goes to the journal at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from dataclasses import dataclass
from typing import Generic

from benchmarks.survey.journal import Journal, R

MakeExecutor = Callable[[int], Executor]
"""From a number of workers to an executor that is used and closed."""


@dataclass(frozen=True)
class Work(Generic[R]):
    """What is done for a case: `run` makes its row from the seed; `died` the row of a dead process.

    `run` must be picklable when the executor crosses processes.
    """

    run: Callable[[int], R]
    died: Callable[[int, str], R]


def survey(
    seeds: Iterable[int],
    work: Work[R],
    journal: Journal[R],
    *,
    make_executor: MakeExecutor,
    workers: int,
    progress: Callable[[R], None] = lambda row: None,
) -> list[R]:
    """Return the rows of all `seeds`, in their order; those in the journal are not run again.

    When a worker process dies, the cases it may have died of are run again one by one, each in a
    process of its own; the one that kills that too becomes a row of its own.
    """
    wanted = list(seeds)
    done = journal.rows()
    left = [seed for seed in wanted if seed not in done]

    def keep(row: R) -> None:
        journal.append(row)
        done[row.seed] = row
        progress(row)

    while left:
        suspects = _spread(left, work, keep, make_executor, workers)
        for seed in suspects:
            keep(_alone(seed, work, make_executor))
        left = [seed for seed in left if seed not in done]
    return [done[seed] for seed in wanted]


def _spread(
    seeds: list[int],
    work: Work[R],
    keep: Callable[[R], None],
    make_executor: MakeExecutor,
    workers: int,
) -> list[int]:
    """Run the seeds, never more in flight than workers; return those in flight when one died."""
    queue = list(reversed(seeds))
    running: dict[Future[R], int] = {}
    with make_executor(workers) as executor:
        while queue or running:
            while queue and len(running) < workers:
                try:
                    future = executor.submit(work.run, queue[-1])
                except BrokenExecutor:  # a worker died before this seed was taken
                    return sorted(running.values())
                running[future] = queue.pop()
            finished, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in finished:
                if isinstance(future.exception(), BrokenExecutor):
                    return sorted(running.values())
                del running[future]
                keep(future.result())
    return []


def _alone(seed: int, work: Work[R], make_executor: MakeExecutor) -> R:
    with make_executor(1) as executor:
        try:
            return executor.submit(work.run, seed).result()
        except BrokenExecutor as fault:
            return work.died(seed, f"the process died: {fault}")

"""Work that others do side by side, looked at by whoever waits for it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from concurrent.futures import Future, as_completed
from math import inf
from typing import TypeVar

from ascentopt.progress.deadline import Deadline, TimeIsUp

R = TypeVar("R")


def finished_in_time(waiting: Collection[Future[R]], deadline: Deadline) -> Iterator[Future[R]]:
    """Futures as they succeed; a failure is raised after all that do, and what waits is cancelled.

    Elsewhere is another clock: whoever waits looks at this one.

    Raises:
        TimeIsUp: when no time is left.
    """
    failures: list[BaseException] = []
    left = deadline.left()
    try:
        for done in as_completed(waiting, timeout=None if left == inf else left):
            failure = done.exception()
            if failure is None:
                yield done
            else:
                failures.append(failure)
    except TimeoutError:
        raise TimeIsUp from None
    finally:
        for one in waiting:
            one.cancel()
    if failures:
        raise failures[0]

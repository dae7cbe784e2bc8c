"""A search that keeps what it has found, tells it, and may be stopped at any time."""

from __future__ import annotations

from collections.abc import Generator
from typing import Generic, TypeVar

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.explain.refusal import best_so_far
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.assembly import candidate_of
from ascentopt.optimal.solve.relaxed_tank import by_own_tank
from ascentopt.optimal.task import Task

R = TypeVar("R")


class StoppableSearch(Generic[R]):
    """A search for the optimum that may be stopped by the clock, or by the user.

    Args:
        task: whose vehicle's own tank attempts are measured by, and whose watch is told.
        steps: all attempts as they stand, after each step; at last the result.
    """

    def __init__(self, task: Task, steps: Generator[list[Attempt], None, R]) -> None:
        self._task, self._steps = task, steps
        self._last: list[Attempt] = []
        self._told: set[str] = set()

    @property
    def attempts(self) -> list[Attempt]:
        """All structures so far, each as far as it has come, by the tank that the vehicle has."""
        return [by_own_tank(self._task, one) for one in self._last]

    def so_far(self) -> Ascent | None:
        """The best flight to the orbit, marked as unfinished; None where there is none yet."""
        return best_so_far(self._task, self.attempts)

    def result(self) -> R:
        """Search to the end."""
        while True:
            try:
                self._last = next(self._steps)
            except StopIteration as end:
                found: R = end.value
                return found
            self._tell_what_is_new()

    def _tell_what_is_new(self) -> None:
        for one in self.attempts:
            came = candidate_of(self._task.vehicle, one, best=False)
            line = f"{one.plan}: {came.result}"
            if line not in self._told:
                self._told.add(line)
                self._task.watch.finishes(line)

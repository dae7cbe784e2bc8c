"""What was solved before, and is asked for again."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.solution import Outcome, Raw

Run = tuple[Raw, Outcome, int]
"""The last iterate, how it ended, and after how many iterations."""

CUT_SHORT = (Outcome.TIME, Outcome.INTERRUPTED)
"""Endings that say nothing of the program, and may be others next time."""


class RememberedSolves:
    """Runs of the solver by all that decides them, to the last bit.

    A search that comes to one structure by two ways often begins at the same flight. The most
    iterations that a run may take decide nothing where it is solved before: it stands for one that
    may take more, or fewer that still suffice.
    """

    def __init__(self) -> None:
        self._solved: dict[Hashable, Run] = {}
        self._ended: dict[Hashable, Run] = {}

    def run(
        self,
        program: Hashable,
        iterations: int,
        numbers: tuple[Array, ...],
        fresh: Callable[[], Run],
    ) -> Run:
        """What the run of so many ``iterations`` at most gave before; else ``fresh`` makes it."""
        key = (program, *(array.tobytes() for array in numbers))
        solved = self._solved.get(key)
        if solved is not None and solved[2] <= iterations:
            return solved
        ended = self._ended.get((key, iterations))
        if ended is not None:
            return ended
        found = fresh()
        if found[1] is Outcome.SOLVED:
            self._solved[key] = found
        elif found[1] not in CUT_SHORT:
            self._ended[key, iterations] = found
        return found

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

    A search that comes to one structure by two ways often begins at the same flight.
    """

    def __init__(self) -> None:
        self._known: dict[Hashable, Run] = {}

    def run(self, program: Hashable, numbers: tuple[Array, ...], fresh: Callable[[], Run]) -> Run:
        """What the run gave when it was made before; else ``fresh`` makes it."""
        key = (program, *(array.tobytes() for array in numbers))
        if key not in self._known:
            found = fresh()
            if found[1] in CUT_SHORT:
                return found
            self._known[key] = found
        return self._known[key]

"""How often the solver ran: what a search costs, told without its records."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from ascentopt.collocation import RememberedSolves
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.solver.remembered import Run


class CountedSolves(RememberedSolves):
    """Remembers as usual, and counts the runs that were made.

    Attributes:
        made: runs of the solver so far.
    """

    def __init__(self) -> None:
        super().__init__()
        self.made = 0

    def run(self, program: Hashable, numbers: tuple[Array, ...], fresh: Callable[[], Run]) -> Run:
        def counted() -> Run:
            self.made += 1
            return fresh()

        return super().run(program, numbers, counted)

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
        iterations: of all of them.
    """

    def __init__(self) -> None:
        super().__init__()
        self.made = 0
        self.iterations = 0

    def run(
        self,
        program: Hashable,
        iterations: int,
        numbers: tuple[Array, ...],
        fresh: Callable[[], Run],
    ) -> Run:
        def counted() -> Run:
            found = fresh()
            self.made += 1
            self.iterations += found[2]
            return found

        return super().run(program, iterations, numbers, counted)

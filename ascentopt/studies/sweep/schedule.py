"""In which order the points of a sweep are solved: a function of the points and their answers.

It never asks who solves, how many do, or what was finished first. A point is solved from its parent
in the tree of neighbours once that is answered, or from the nearest above it that flies. When all
are answered, bounds are looked at, where neighbours fly other structures, or one flies and the
other was refused: each is solved again from the other, unless it has that structure behind it, or
the other's promises no more. What is better stands, and is a neighbour to others in the next round.
A point is solved again once for each structure at most, which ends it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

from ascentopt.studies.sweep.points.neighbours import Neighbourhood


class Standing(Protocol):
    """What the schedule wants to know of an answer."""

    @property
    def structure(self) -> str:
        """Of the flight; empty where there is none."""

    @property
    def settled(self) -> bool:
        """Whether it is the same from whatever neighbour."""

    @property
    def compared(self) -> Collection[str]:
        """Structures that were solved for on the way to it."""

    def beats(self, other: Any) -> bool:
        """Whether it takes the place of another answer of its point."""


Answer = TypeVar("Answer", bound=Standing)


@dataclass(frozen=True)
class Solve:
    """One solve of a point.

    Attributes:
        point: its number.
        serial: how many times it was solved before.
        near: point and serial of the answer that it starts from; None where it starts from nothing.
    """

    point: int
    serial: int = 0
    near: tuple[int, int] | None = None


class Schedule(Generic[Answer]):
    """Hands out solves as what they start from is answered.

    Attributes:
        best: of each point that is answered the solve that stands, and its answer.
        total: how many solves are known of by now.
        answered: how many of them are.
    """

    def __init__(
        self,
        neighbours: Neighbourhood,
        promises: Callable[[Answer, Answer, int, int], bool] = lambda *_: True,
    ) -> None:
        """`promises` tells of an answer, its neighbour's and the two points if it is worth it."""
        self._near, self._promises = neighbours, promises
        self._children: dict[int | None, list[int]] = {}
        for point, parent in neighbours.parents.items():
            self._children.setdefault(parent, []).append(point)
        self._tried: dict[int, set[str]] = {point: set() for point in neighbours.parents}
        self._solves = dict.fromkeys(neighbours.parents, 1)
        self._round: dict[Solve, Answer] = {}
        self.best: dict[int, tuple[Solve, Answer]] = {}
        self.total = len(neighbours.parents)
        self.answered = 0

    def begin(self) -> list[Solve]:
        """What is solved from nothing."""
        return [Solve(point) for point in self._children.get(None, [])]

    def take(self, solve: Solve, answer: Answer) -> list[Solve]:
        """Keep an answer; what may be solved now that it is there."""
        self.answered += 1
        self._tried[solve.point] |= {answer.structure, *answer.compared}
        if solve.serial == 0:
            self.best[solve.point] = solve, answer
        else:
            self._round[solve] = answer
        if self.answered == self.total:
            return self._next_round()
        below = [] if solve.serial else self._children.get(solve.point, [])
        return [Solve(child, near=self._nearest_above(child)) for child in below]

    def _nearest_above(self, point: int) -> tuple[int, int] | None:
        """The first on the way to the middle that flies."""
        above = self._near.parents[point]
        while above is not None and not self.best[above][1].structure:
            above = self._near.parents[above]
        if above is None:
            return None
        self._tried[point].add(self.best[above][1].structure)
        return above, 0

    def _next_round(self) -> list[Solve]:
        """What bounds ask for, once a round is answered as a whole."""
        for solve in sorted(self._round, key=lambda one: (one.point, one.serial)):
            if self._round[solve].beats(self.best[solve.point][1]):
                self.best[solve.point] = solve, self._round[solve]
        self._round = {}
        found = [solve for point in self._near.parents for solve in self._at_bounds(point)]
        self.total += len(found)
        return found

    def _at_bounds(self, point: int) -> list[Solve]:
        """Solves of a point from neighbours with structures that are new to it."""
        found: list[Solve] = []
        own = self.best[point][1]
        for other in () if own.settled else self._near.next_to[point]:
            solve, answer = self.best[other]
            new = bool(answer.structure) and answer.structure not in self._tried[point]
            if new and self._promises(own, answer, point, other):
                self._tried[point].add(answer.structure)
                serial = self._solves[point]
                self._solves[point] += 1
                found.append(Solve(point, serial, (other, solve.serial)))
        return found

"""What a `progress` callable is given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeAlias, TypeVar

T_co = TypeVar("T_co", covariant=True)
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class Step(Generic[T_co]):
    """One step of long work, begun or finished.

    Args:
        study: the function that was called, such as "cost_map".
        doing: what is begun or was finished, in a line.
        done: steps that are finished.
        total: of how many; None where nobody knows.
        seconds: of the clock since the work began.
        over: whether it is the last one, because all is done or because the work was stopped.
        finished: makes ``so_far``.
    """

    study: str
    doing: str
    done: int
    total: int | None
    seconds: float
    over: bool = False
    finished: Callable[[], T_co | None] = field(repr=False)

    @property
    def so_far(self) -> T_co | None:
        """What is finished, as `Interrupted` and `OutOfTime` would carry it; None where nothing is.

        It is made when it is asked for, which for `optimize` takes a flight of the independent
        simulator.
        """
        return self.finished()

    def __str__(self) -> str:
        of = f"{self.done}" if self.total is None else f"{self.done}/{self.total}"
        return f"{self.study} {of}, {self.seconds:.1f} s: {self.doing}"


Progress: TypeAlias = Callable[[Step[T]], None]
"""Is given a step whenever one is begun or finished; what it raises ends the work."""

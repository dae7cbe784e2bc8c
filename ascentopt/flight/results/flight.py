"""A flight that was flown to its end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.results.verdict import Verdict
from ascentopt.persistence import Result
from ascentopt.tables import in_a_line, one_line, page
from ascentopt.typing import Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class ArcEnd(Result):
    """How an arc ended: its name, the ending that it met, and when (s)."""

    arc: str
    ending: Ending
    time: float

    __repr__ = in_a_line


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Flight(Result):
    """A flight that was flown to its end.

    Args:
        trajectory: against time.
        events: what happened when.
        budget: where the delta-v went.
        ends: how each arc ended.
        verdict: what became of it; None where no mission was given to judge it by.
    """

    trajectory: Trajectory
    events: EventTable
    budget: DeltaVBudget
    ends: tuple[ArcEnd, ...]
    verdict: Verdict | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.ends:
            raise InputError("Flight: ends is empty; it must hold how each arc ended. Give them.")

    def __repr__(self) -> str:
        told = f"{self.final_time:.2f} s", f"{len(self.ends)} arcs"
        return one_line(self, *told, *([] if self.verdict is None else [self._heading]))

    @property
    def _heading(self) -> str:
        return "flight" if self.verdict is None else str(self.verdict).split("\n", 1)[0]

    def _repr_html_(self) -> str:
        lines = [] if self.verdict is None else str(self.verdict).splitlines()[1:]
        return page(self._heading, lines, [self.events.to_table(), self.budget.to_table()])

    def __str__(self) -> str:
        first = [] if self.verdict is None else [str(self.verdict)]
        return "\n\n".join([*first, str(self.events), str(self.budget)])

    @property
    def final_state(self) -> Floats:
        """(7,) inertial position, velocity and mass at the end, before anything more is dropped."""
        return self.trajectory.final_state

    @property
    def payload_heating(self) -> float | None:
        """Greatest heating of the payload after the fairing drop, W/m^2; None without a drop."""
        drops = [event.time for event in self.events if event.name == "fairing drop"]
        bare = [arc for arc in self.trajectory.arcs if drops and arc.times[0] >= drops[0]]
        if not bare:
            return None
        return float(np.nanmax(Trajectory(arcs=tuple(bare)).heating))

    @property
    def final_time(self) -> float:
        """Seconds since lift-off."""
        return self.ends[-1].time

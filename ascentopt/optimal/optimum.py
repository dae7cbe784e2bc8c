"""An answer with the attempt behind it, and what it was compared with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.assembly import ComparedStructures
from ascentopt.optimal.result.hidden_bounds import active_bounds
from ascentopt.optimal.structure.census import SETTLED_BY, Grounds, census
from ascentopt.optimal.structure.dominance import argued_away
from ascentopt.optimal.structure.search_by_moves import SearchResult
from ascentopt.optimal.task import Task


@dataclass(frozen=True, eq=False)
class Optimum:
    """An ascent with the attempt behind it, from which a neighbouring one can be solved."""

    ascent: Ascent
    attempt: Attempt

    def beginning_with(self, line: str) -> Self:
        """The same, its history beginning with a line."""
        first, *others = self.ascent.candidates
        told = replace(first, history=(line, *first.history))
        return replace(self, ascent=replace(self.ascent, candidates=(told, *others)))


def structures_compared(
    task: Task,
    best: Attempt,
    beaten: list[Attempt],
    attempts: list[Attempt],
    search: SearchResult,
) -> ComparedStructures:
    """What the answer was compared with, all on first meshes."""
    coarse = next(
        (one for one in attempts if one.history == best.history[: len(one.history)]), None
    )
    start = coarse or best
    rest = [one for one in attempts if one is not start]
    case = task.case
    worth = SETTLED_BY * task.vehicle.propellant_mass
    grounds = Grounds(
        worth=worth,
        left_out=search.left_out,
        active_bounds=active_bounds(task.mission, best, task.vehicle.propellant_mass),
        argued=lambda plan: argued_away(case, best, plan, worth),
        refined=frozenset(
            one.plan for one in beaten if one.refined and one.unspent <= best.unspent + worth
        ),
    )
    finer = 0.0 if coarse is None else coarse.unspent - best.unspent
    return ComparedStructures(tuple(beaten), finer, census(start, rest, grounds))

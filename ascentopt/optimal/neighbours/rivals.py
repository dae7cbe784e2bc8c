"""Structures beside the best one of a neighbouring ascent: how far behind they were, and are here.

The least propellant of every structure is a function of the case. Of a structure whose solution is
kept the Lagrangian there foretells what it uses here, and what the best one uses beyond what was
foretold of it says how much that may be off. Of any other nothing is known but what the best one
does: it may have changed by nothing, or by twice as much. Every structure that would overtake the
best one so is solved again; all others stay beaten by what is left of their distance, which the
answer keeps for its own neighbours.
Limits on loads press on each structure in its own way: where one is loosened, whatever was held by
it is solved again.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from math import log

import numpy as np

from ascentopt.errors import InputError
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.neighbours.foretold import BestMoved, foretold, more_left
from ascentopt.optimal.neighbours.neighbour import Neighbour
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.violations import without_load_limits
from ascentopt.optimal.result.assembly import candidate_of
from ascentopt.optimal.result.candidate import Candidate
from ascentopt.optimal.solve.from_neighbour import solve_from_neighbour
from ascentopt.optimal.solve.ladder import REACHED
from ascentopt.optimal.solved_program import SolvedProgram
from ascentopt.optimal.structure.census import SETTLED_BY
from ascentopt.optimal.structure.enumeration import solved_or_skipped
from ascentopt.optimal.structure.search_by_moves import WORTH_A_BURN
from ascentopt.optimal.task import Task


def _without_load_limits(task: Task) -> Task:
    limits = without_load_limits(task.mission.limits)
    return replace(task, mission=replace(task.mission, limits=limits))


@dataclass(frozen=True, kw_only=True, eq=False)
class Rivals:
    """The other structures of a neighbour, as a flight here sees them.

    Args:
        near: what knows of them.
        best: the flight of the neighbour's structure, within the limits, here.
        task: what is asked here.
    """

    near: Neighbour
    best: Attempt
    task: Task

    @cached_property
    def others(self) -> tuple[Candidate, ...]:
        """Each structure once, as it came out best."""
        own = [one for one in self.near.ascent.candidates[1:] if one.plan != self.best.plan]
        ranked = sorted(own, key=lambda one: one.propellant_used or np.inf, reverse=True)
        return tuple({one.plan: one for one in ranked}.values())

    @cached_property
    def beaten(self) -> tuple[Candidate, ...]:
        """Those that stay beaten, or short, with what is left of their distance."""
        return tuple(one for one in map(self._still_beaten, self.others) if one is not None)

    @property
    def to_solve(self) -> tuple[Candidate, ...]:
        """Those that may overtake the best flight."""
        beaten = {one.plan for one in self.beaten}
        return tuple(one for one in self.others if one.plan not in beaten)

    def solved(self, one: Candidate, known: list[Attempt]) -> Iterator[Attempt]:
        """Attempts at one of them: from its own solution there, where that was kept."""
        warm = None if one.solved_program is None else self._from(one.solved_program)
        if warm is not None and warm.reached:
            yield warm
        else:
            yield solved_or_skipped(self.task, one.plan, known)

    def _from(self, kept: SolvedProgram) -> Attempt | None:
        """A structure from its solution there; None where it has another program here.

        A throttle that a limit asks for here or there alone is one.
        """
        task = _without_load_limits(self.task) if kept.asks_no_limits else self.task
        with suppress(InputError):
            return solve_from_neighbour(task, kept.attempt(task.vehicle, task.mission))
        return None

    @property
    def finer(self) -> float:
        """Kg more that the best flight takes on its fine meshes than on first ones."""
        kept = self.near.ascent.solved_program
        return 0.0 if kept is None else kept.finer

    def best_first(self, attempts: list[Attempt]) -> list[Attempt]:
        """Attempts by what they leave; the neighbour's structure first unless another is better.

        Others are on first meshes, which promise a little more, all about as much. Better is by
        what a burn more has to be worth: else two structures that differ by a burn of next to no
        length would take turns.
        """
        ahead = self.finer + WORTH_A_BURN * self.task.vehicle.propellant_mass

        def left(one: Attempt) -> float:
            return one.unspent + (ahead if one.plan == self.best.plan else 0.0)

        return sorted(attempts, key=lambda one: (not one.keeps_limits, -left(one)))

    def told(self) -> Iterator[str]:
        """A line for each that stays beaten."""
        for one in self.beaten:
            yield f"{one.plan}: {one.history[-1]}"

    @cached_property
    def _used(self) -> float:
        """Kg that the best flight uses here."""
        return candidate_of(self.task.vehicle, self.best, best=True).propellant_used or 0.0

    @cached_property
    def _moved(self) -> float:
        """Kg by which the optimum has changed."""
        left = self.best.unspent - self.best.sequence.reserve
        used = self._used - self.near.ascent.propellant_used
        margin = left - self.near.ascent.propellant_margin
        return max(abs(used), abs(margin))

    @cached_property
    def _best_moved(self) -> BestMoved | None:
        """From the neighbour's flight to the best one here; None if nobody knows."""
        more = more_left(self.near.attempt, self._case)
        if more is None:
            return None
        return BestMoved(more, self.best.unspent - self.near.attempt.unspent - more)

    @property
    def _case(self) -> Case:
        return Case(self.task.vehicle, self.task.mission)

    def _still_beaten(self, one: Candidate) -> Candidate | None:
        held = self.near.loosened and not one.at_least
        if held or one.standing not in (Standing.BEATEN, Standing.SHORT):
            return None
        if one.propellant_used is None:
            return self._still_short(one)
        before = one.propellant_used - self.near.ascent.propellant_used
        return self._foretold_beaten(one, before) or self._beaten_by_far(one, before)

    def _foretold_beaten(self, one: Candidate, before: float) -> Candidate | None:
        """One that was ``before`` kg behind, as its own solution foretells it."""
        kept, best = one.solved_program, self._best_moved
        if kept is None or best is None:
            return None
        found = foretold(kept, self.near.case, self._case, best)
        if found is None:
            return None
        behind = before + best.more - found.more - (found.strayed - kept.strayed)
        told = f"foretold to be beaten by {behind:.3g} kg at least, from a neighbouring case"
        held = replace(kept, strayed=found.strayed)
        return self._beaten_by(replace(one, solved_program=held), behind, told)

    def _beaten_by_far(self, one: Candidate, before: float) -> Candidate | None:
        """One that was ``before`` kg behind, wherever it has moved to."""
        told = f"beaten by {before:.3g} kg in a neighbouring case; {self._far}"
        behind = before - self._moved - SETTLED_BY * self.task.vehicle.propellant_mass
        return self._beaten_by(one, behind, told)

    def _beaten_by(self, one: Candidate, behind: float, told: str) -> Candidate | None:
        if behind <= 0.0:
            return None
        return replace(
            one, standing=Standing.BEATEN, propellant_used=self._used + behind, at_least=True,
            history=(told,),
        )  # fmt: skip

    def _still_short(self, one: Candidate) -> Candidate | None:
        speed = self.task.vehicle.stages[self.best.plan.inserting_stage].engine.exhaust_speed
        short = one.shortfall or 0.0
        left = short - speed * log(1.0 + self._moved / self.best.final_mass)
        if left <= REACHED:
            return None
        line = f"short by {short:.0f} m/s in a neighbouring case; {self._far}"
        return replace(one, shortfall=left, history=(line,))

    @property
    def _far(self) -> str:
        return f"its optimum is {self._moved:.3g} kg from that of this case"

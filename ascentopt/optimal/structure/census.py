"""The certificate of structure: what was solved, what was argued away, and what is open."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.structure.dominance import is_part_of
from ascentopt.persistence import Result
from ascentopt.tables import one_line

SETTLED_BY = 1e-4
"""Share of the propellant by which a structure that was not confirmed may promise more than the
answer without leaving it open: what an answer may be worse than the best structure."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Census(Result):
    """Which structures an answer was compared with.

    Args:
        solved: how many were solved within the limits on loads.
        bounded: how many are beaten by what they do without those limits, or fall short.
        left_out: what was not solved for, and the bound or first-order gain that says why.
        open: what was neither solved nor argued away.
        next_best: the best of the others, in words; empty where none reaches the orbit.
        distance: kg of propellant by which it is worse, on the same meshes; negative where it burns
            once more for next to nothing.
        active_bounds: bounds that the user did not set and that act on the answer.
    """

    solved: int
    bounded: int
    left_out: tuple[str, ...]
    open: tuple[str, ...]
    next_best: str = ""
    distance: float = 0.0
    active_bounds: tuple[str, ...] = ()

    @property
    def settled(self) -> bool:
        """Whether no structure is open and no bound acts that the user did not set."""
        return not (self.open or self.active_bounds)

    def __repr__(self) -> str:
        known = f"{self.solved} solved", f"{self.bounded} bounded"
        return one_line(self, *known, f"{len(self.left_out)} left out", f"{len(self.open)} open")

    def __str__(self) -> str:
        argued = len(self.left_out)
        count = self.solved + self.bounded + argued + len(self.open)
        told = f"structures: {count}, {self.solved} solved, {self.bounded} bounded"
        lines = [f"{told}, {argued} left out, {len(self.open)} open"]
        if self.next_best:
            more = "more" if self.distance >= 0.0 else "less, which is not worth a burn more"
            lines.append(f"  next best {self.next_best}, {abs(self.distance):.2f} kg {more}")
        lines += [f"  open: {one}" for one in self.open]
        lines += [f"  acts, though nobody set it: {one}" for one in self.active_bounds]
        return "\n".join(lines)


@dataclass(frozen=True, kw_only=True)
class Grounds:
    """What is known beside the attempts themselves.

    Args:
        worth: kg by which a structure that was not confirmed may promise more than the answer.
        left_out, active_bounds: as in `Census`.
        argued: says why a plan that was not solved cannot beat the best flight, or None.
        refined: plans that on fine meshes, as the answer, are no better than it.
    """

    worth: float
    left_out: tuple[str, ...] = ()
    active_bounds: tuple[str, ...] = ()
    argued: Callable[[FlightPlan], str | None] = lambda plan: None
    refined: frozenset[FlightPlan] = frozenset()


def census(best: Attempt, others: list[Attempt], grounds: Grounds) -> Census:
    """Sort the attempts beside the best one, all on their first meshes.

    One that is a special case of a plan that was solved is bounded by that.
    """
    most = best.unspent + grounds.worth
    within = [one for one in others if one.flies]
    skipped = [one for one in others if one.skipped]
    unsettled = open_attempts(best, others, grounds.worth)
    wide = [one for one in unsettled if one.plan not in grounds.refined]
    reasons = [
        (one.plan, None if _promised(one) > most else grounds.argued(one.plan)) for one in wide
    ]
    still = tuple(str(plan) for plan, why in reasons if why is None)
    away = tuple(f"{plan}: {why}" for plan, why in reasons if why is not None)
    compared = (one for one in within if one not in wide and one.plan not in grounds.refined)
    nearest = max(compared, key=lambda one: one.unspent, default=None)
    known = len(others) - len(within) - len(skipped)
    return Census(
        solved=1 + len(within),
        bounded=known - len(still) - len(away),
        left_out=(*(f"{one.plan}: {one.history[-1]}" for one in skipped), *grounds.left_out, *away),
        open=still,
        next_best="" if nearest is None else nearest.plan.beside([best.plan]),
        distance=0.0 if nearest is None else best.unspent - nearest.unspent,
        active_bounds=grounds.active_bounds,
    )


def open_attempts(best: Attempt, others: list[Attempt], worth: float) -> list[Attempt]:
    """Those that may be better than the best by more than ``worth`` kg, as far as anybody solved.

    One that is a special case of what was solved is bounded by that, and so is another start of it
    that creeps.
    """
    most = best.unspent + worth
    unsolved = [one for one in others if not one.skipped and _is_open(one, best, most)]
    beaten = [one for one in others if one.reached and one not in unsolved]
    settled = [best, *beaten]
    plans = {one.plan for one in settled}
    creeps = [one for one in unsolved if one.reached and one.unspent <= most]
    again = [one for one in creeps if one.plan in plans]
    return [one for one in unsolved if one not in again and not _is_special(one, settled)]


def _promised(one: Attempt) -> float:
    """Kg that its flight without the limits on loads has left: no slope argues that away."""
    return max(one.unspent_without_limits, one.unspent)


def _is_special(one: Attempt, solved: list[Attempt]) -> bool:
    """Whether nothing is known of an attempt, but of a structure that it is a special case of."""
    return not one.reached and any(is_part_of(one.plan, wider.plan) for wider in solved)


def _is_open(one: Attempt, best: Attempt, most: float) -> bool:
    """Whether an attempt may be better than the answer, as far as anybody knows.

    A start of the answer's own plan that led nowhere says nothing about another structure.
    """
    if replace(one.plan, turning_arcs=()) == replace(best.plan, turning_arcs=()):
        return False
    if one.reached:
        return one.stopped_short or one.unspent > most
    return one.shortfall is None

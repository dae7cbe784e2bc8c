"""Structures without the burns and coasts of a flight that have no length: the same flight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf

from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.structure.move import Move, arcs_of
from ascentopt.optimal.warm_start.remap import with_arcs_joined

NO_LENGTH = 0.01
"""s above its shortest length from which a burn or coast is no more than that."""

EMPTY = 1e-6
"""Share of a stage's empty mass, with all it carries, up to which a tank is empty: the solver's
tolerance, a hundred times over."""


@dataclass(frozen=True)
class RemoveEmptyArc(Move):
    """Without an arc that has no length.

    Args:
        groups: indices of the old arcs that each new one is made of.
    """

    groups: tuple[tuple[int, ...], ...]

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        if len(sequence.arcs) != len(self.groups):
            return None
        return with_arcs_joined(attempt.found, self.groups)


def simplifications(case: Case, attempt: Attempt) -> Iterator[Move]:
    """Moves to structures without the burns and coasts of an attempt that have no length."""
    pairs = zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    for k, (arc, own) in enumerate(pairs):
        free = not arc.fixed and arc.rise is None
        if free and own.duration < arc.duration[0] + NO_LENGTH:
            yield from _without(case, attempt, k)


def _without(case: Case, attempt: Attempt, k: int) -> Iterator[Move]:
    arcs, plan = attempt.sequence.arcs, attempt.plan
    arc, last = arcs[k], len(arcs) - 1
    told = f"without {arc.name}"
    each: list[tuple[int, ...]] = [(j,) for j in range(len(arcs))]
    waits = not arc.burning and arc.joint.event.endswith("ignition")
    first = next(j for j, one in enumerate(arcs) if one.stage == arc.stage)
    if arc.burning and _ends_a_lower_stage(plan, arcs, k):
        yield from _coasting_on(case, attempt, k, told)
    elif waits and k == first and arc.stage in plan.coast_before:
        fewer = replace(plan, coast_before=tuple(s for s in plan.coast_before if s != arc.stage))
        kept = case.vehicle.stages[arc.stage].ignition_delay > 0.0
        yield from _joined(case, attempt, fewer, told, each if kept else each[:k] + each[k + 1 :])
    elif plan.relights(arc.stage) and 0 < k < last and _same_on_both_sides(arcs, k):
        joined = [*each[: k - 1], (k - 1, k, k + 1), *each[k + 2 :]]
        yield from _joined(case, attempt, _once_less(plan, arc.stage), told, joined)
    elif plan.restarts and k == last and arc.burning:
        yield from _joined(case, attempt, _once_less(plan, arc.stage), told, each[:-2])


def _ends_a_lower_stage(plan: FlightPlan, arcs: tuple[FlightArc, ...], k: int) -> bool:
    """Whether an arc is the last burn of a stage that is lit again and does not insert."""
    stage = arcs[k].stage
    return plan.relights(stage) > 0 and stage < plan.inserting_stage and arcs[k + 1].stage > stage


def _coasting_on(case: Case, attempt: Attempt, k: int, told: str) -> Iterator[Move]:
    """Without the last burn of a lower stage: it is dropped, and the next one lit after the coast.

    What it leaves in its tank so is left by an early end.
    """
    plan, arcs, each = (
        attempt.plan,
        attempt.sequence.arcs,
        [(j,) for j in range(len(attempt.sequence.arcs))],
    )
    stage, waits = arcs[k].stage, not arcs[k + 1].burning
    fewer = _once_less(plan, stage)
    left = float(attempt.found.arcs[k].states[-1, MASS]) - arcs[k].least_mass
    if not fewer.relights(stage) and left > EMPTY * arcs[k].least_mass:
        fewer = replace(fewer, cut_early=tuple(sorted({*plan.cut_early, stage})))
    fewer = replace(fewer, coast_before=tuple(sorted({*plan.coast_before, stage + 1})))
    coast = (k - 1, k, k + 1) if waits else (k - 1, k)
    yield from _joined(case, attempt, fewer, told, [*each[: k - 1], coast, *each[coast[-1] + 1 :]])


def _same_on_both_sides(arcs: tuple[FlightArc, ...], k: int) -> bool:
    before, after = arcs[k - 1], arcs[k + 1]
    return before.stage == after.stage == arcs[k].stage and before.burning == after.burning


def _once_less(plan: FlightPlan, stage: int) -> FlightPlan:
    if stage == plan.inserting_stage:
        return replace(plan, restarts=plan.restarts - 1)
    relit = list(plan.relit)
    relit.remove(stage)
    return replace(plan, relit=tuple(relit))


def _joined(
    case: Case, attempt: Attempt, fewer: FlightPlan, told: str, groups: list[tuple[int, ...]]
) -> Iterator[Move]:
    """The move to a plan with fewer arcs, the fairing dropped in what its arc has become."""
    cut = attempt.sequence.index_of_drop
    if fewer.fairing_arc is not None:
        where = [new for new, old in enumerate(groups) if cut in old]
        bare = arcs_of(case, replace(fewer, fairing_arc=None)).names
        if not where or where[0] >= len(bare):
            return
        fewer = replace(fewer, fairing_arc=bare[where[0]])
    yield RemoveEmptyArc(fewer, inf, told, tuple(groups))

"""A stage that may be cut off early or throttled, and one that needs no such freedom."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.moves.empty_arcs import leaves_propellant
from ascentopt.optimal.moves.mode_insertions import coast_inserted_seconds
from ascentopt.optimal.moves.move import Move, Simplification
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.switching.mode_insertion import (
    cost_of_burning_later,
    gain_by_ending_early,
    gain_by_throttling,
)
from ascentopt.optimal.warm_start.remap import unchanged
from ascentopt.rocket import SolidMotor


@dataclass(frozen=True)
class AddFreedom(Move):
    """The same arcs with more freedom: an end before the propellant's, or a throttle."""

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        return unchanged(attempt.found)


@dataclass(frozen=True)
class BurnToDepletion(Simplification):
    """A stage that may be cut off early, and burns all it has, without that freedom."""

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        return unchanged(attempt.found)


def early_ends(case: Case, attempt: Attempt) -> Iterator[Move]:
    """Stages below the inserting one that burn all they have, free to end before."""
    plan = attempt.plan
    for stage in range(plan.inserting_stage):
        solid = isinstance(case.vehicle.stages[stage].engine, SolidMotor)
        if solid or stage in plan.cut_early or plan.relights(stage):
            continue
        k = _last_arc(attempt, stage)
        rate = gain_by_ending_early(attempt.sequence.arcs[k], attempt.found.arcs[k])
        gain = coast_inserted_seconds(case) * rate
        released = plan.cutting_early(stage)
        yield AddFreedom(released, gain, f"stage {stage + 1} cut off early")


def depletions(attempt: Attempt) -> Iterator[Move]:
    """Stages that may be cut off early and burn all they have, without that freedom."""
    plan = attempt.plan
    for stage in plan.cut_early:
        if not (plan.relights(stage) or leaves_propellant(attempt, _last_arc(attempt, stage))):
            kept = tuple(other for other in plan.cut_early if other != stage)
            told = f"stage {stage + 1} burned to depletion"
            yield BurnToDepletion(replace(plan, cut_early=kept), inf, told)


def throttles(case: Case, attempt: Attempt) -> Iterator[Move]:
    """Stages at full throttle, free to throttle."""
    plan = attempt.plan
    for stage in range(plan.inserting_stage + 1):
        engine = case.vehicle.stages[stage].engine
        if isinstance(engine, SolidMotor) or engine.min_throttle == 1.0 or stage in plan.throttling:
            continue
        k = _last_arc(attempt, stage)
        later = cost_of_burning_later(attempt.sequence.arcs[k], attempt.found.arcs[k])
        gain = sum(
            gain_by_throttling(arc, own, engine.min_throttle, later)
            for arc, own in zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
            if arc.stage == stage
        )
        throttled = replace(plan, throttling=tuple(sorted({*plan.throttling, stage})))
        yield AddFreedom(throttled, gain, f"stage {stage + 1} throttled")


def _last_arc(attempt: Attempt, stage: int) -> int:
    return max(k for k, arc in enumerate(attempt.sequence.arcs) if arc.stage == stage)

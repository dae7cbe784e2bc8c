"""A coast put into a burn, a burn into a coast, and a coast before a stage is lit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.moves.move import Move, arcs_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.switching_function import coasting_cost
from ascentopt.optimal.switching.coasting import cost_of_coasting
from ascentopt.optimal.switching.mode_insertion import (
    SHORTEST,
    burning_cost,
    has_plain_thrust,
)
from ascentopt.optimal.warm_start.moved_fairing_drop import LEAST_PART
from ascentopt.optimal.warm_start.remap import (
    BRIEF,
    Place,
    brief_burn,
    coast_from,
    with_arc,
    with_coast_before_stage,
)
from ascentopt.world.gravity import surface_time_scale


def coast_inserted_seconds(case: Case) -> float:
    """Seconds of a coast that is put in, and over which a rate in kg/s is taken to hold."""
    return BRIEF * surface_time_scale(case.mission.body)


def relights_left(case: Case, plan: FlightPlan, stage: int) -> int:
    """How often more a stage can be lit again in a plan."""
    kept = restarts_kept(case.mission) if stage == plan.inserting_stage else 0
    return case.vehicle.stages[stage].restarts - kept - plan.relights(stage)


@dataclass(frozen=True)
class InsertArc(Move):
    """A coast within a burn, or a burn within a coast."""

    place: Place

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight with something brief put in."""
        k = self.place.arc
        if len(sequence.arcs) != len(attempt.sequence.arcs) + 2:
            return None
        own, new = attempt.found.arcs[k], sequence.arcs[k + 1]
        state = own.state_at(np.array([self.place.share]))[0]
        if new.burning:
            node = int(np.argmin(np.abs(own.arc.mesh.fractions() - self.place.share)))
            primer = -own.costates[1 + node, 3:6]
            inserted = brief_burn(new, state, primer / np.linalg.norm(primer))
            return with_arc(attempt.found, sequence, self.place, inserted, SHORTEST)
        at = float(own.times[0] + self.place.share * own.duration)
        inserted, length = coast_from(new, state, at)
        return with_arc(attempt.found, sequence, self.place, inserted, length)


@dataclass(frozen=True)
class CoastBefore(Move):
    """A coast before a stage is lit.

    Args:
        stage: its index.
    """

    stage: int

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight with a brief coast put in."""
        return with_coast_before_stage(attempt.found, attempt.sequence, sequence, self.stage)


def insertions(case: Case, attempt: Attempt) -> Iterator[Move]:
    """A coast within each burn whose stage can be lit again, a burn within each of its coasts."""
    for k, (arc, own) in enumerate(zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)):
        if own.duration < SHORTEST or relights_left(case, attempt.plan, arc.stage) < 1:
            continue
        burn = _burn_of(attempt.sequence, k)
        if not has_plain_thrust(burn) or arc.fixed or arc.rise is not None:
            continue
        costs = coasting_cost(arc, own) if arc.burning else burning_cost(burn, own)
        costs += _error_at_joints(attempt.sequence, k, costs)
        best = int(np.argmin(costs))
        share = float(np.clip(own.arc.mesh.fractions()[best], LEAST_PART, 1.0 - LEAST_PART))
        plan = _relit(case, attempt, arc.stage, Place(k, share))
        if plan is not None:
            what = "coast put into" if arc.burning else "burn put into"
            seconds = coast_inserted_seconds(case)
            yield InsertArc(
                plan, -seconds * float(costs[best]), f"{what} {arc.name}", Place(k, share)
            )


def _error_at_joints(sequence: Sequence, k: int, costs: Array) -> float:
    """What the costs of the other mode in an arc are wrong by, where that is known: kg/s.

    Beside a coast of free length a second of coast costs nothing, and after a burn that ends when
    it likes a second more of it. On a coarse mesh a hundredth of a kg/s is told there.
    """
    arc = sequence.arcs[k]
    before = sequence.arcs[k - 1] if k > 0 else None
    after = sequence.arcs[k + 1] if k + 1 < len(sequence.arcs) else None
    if arc.burning:
        first = before is not None and before.free_coast
        last = after is not None and after.free_coast
    else:
        first, last = before is not None and before.burning and before.stage == arc.stage, False
    return max(abs(float(costs[0])) * first, abs(float(costs[-1])) * last)


def _burn_of(sequence: Sequence, k: int) -> FlightArc:
    """The burn that an arc is, or that follows a coast."""
    return next((arc for arc in sequence.arcs[k:] if arc.burning), sequence.arcs[-1])


def _relit(case: Case, attempt: Attempt, stage: int, place: Place) -> FlightPlan | None:
    """The plan with a stage lit once more, the fairing dropped where it was."""
    plan = attempt.plan
    if stage == plan.inserting_stage:
        more = replace(plan, restarts=plan.restarts + 1)
    else:
        more = replace(plan, relit=tuple(sorted((*plan.relit, stage))))
    return _drop_kept(case, attempt, more, place.arc, 2)


def coasts_before(case: Case, attempt: Attempt) -> Iterator[Move]:
    """A coast of free length before each stage that has none."""
    plan, sequence = attempt.plan, attempt.sequence
    for stage in range(1, plan.inserting_stage + 1):
        if stage in plan.coast_before:
            continue
        gain = -coast_inserted_seconds(case) * cost_of_coasting(attempt.found, sequence, stage)
        more = plan.coasting_before(stage)
        waits = case.vehicle.stages[stage].ignition_delay > 0.0
        place = next(k for k, arc in enumerate(sequence.arcs) if arc.stage == stage)
        told = f"coast before stage {stage + 1}"
        kept = _drop_kept(case, attempt, more, place, int(not waits))
        if kept is not None:
            yield CoastBefore(kept, gain, told, stage)


def _drop_kept(
    case: Case, attempt: Attempt, more: FlightPlan, place: int, arcs: int
) -> FlightPlan | None:
    """The plan with the fairing dropped where it was, so many arcs put in at a ``place``.

    None where it may not be dropped there any more.
    """
    cut = attempt.sequence.index_of_drop
    if cut is None:
        return more
    bare = arcs_of(case, replace(more, fairing_arc=None))
    where = cut + arcs if place <= cut else cut
    return replace(more, fairing_arc=bare.names[where]) if bare.may_drop_in(where) else None

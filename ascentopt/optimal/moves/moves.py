"""Changes of a structure by one burn, coast, end, throttle, heading or place of the drop.

Each says what it gains to first order, by the costates of the flight at hand.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from math import inf

import numpy as np

from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.empty_arcs import leaves_propellant, simplifications
from ascentopt.optimal.moves.move import (
    AddFreedom,
    BurnToDepletion,
    CoastBefore,
    DropFairing,
    InsertArc,
    Move,
    MoveFairingDrop,
    OtherHeading,
    arcs_of,
)
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.payload_heating import fairing_must_stay
from ascentopt.optimal.problem.switching_function import coasting_cost
from ascentopt.optimal.switching.coasting import cost_of_coasting
from ascentopt.optimal.switching.fairing_drop import (
    gain_without_heating,
    log_heating_ratio,
    places_within_reach,
    price_of_heating,
)
from ascentopt.optimal.switching.mode_insertion import (
    SHORTEST,
    burning_cost,
    cost_of_burning_later,
    gain_by_ending_early,
    gain_by_throttling,
    has_plain_thrust,
)
from ascentopt.optimal.warm_start.moved_fairing_drop import LEAST_PART
from ascentopt.optimal.warm_start.parking_orbit import has_two_headings
from ascentopt.optimal.warm_start.remap import (
    BRIEF,
    Place,
)
from ascentopt.rocket import SolidMotor
from ascentopt.world.gravity import surface_time_scale


def coast_inserted_seconds(case: Case) -> float:
    """Seconds of a coast that is put in, and over which a rate in kg/s is taken to hold."""
    return BRIEF * surface_time_scale(case.mission.body)


def relights_left(case: Case, plan: FlightPlan, stage: int) -> int:
    """How often more a stage can be lit again in a plan."""
    kept = restarts_kept(case.mission) if stage == plan.inserting_stage else 0
    return case.vehicle.stages[stage].restarts - kept - plan.relights(stage)


def moves_from(case: Case, attempt: Attempt, drops: Collection[str] = ()) -> Iterator[Move]:
    """Every move from an attempt that has a solution, whatever it gains.

    Args:
        drops: arcs to drop the fairing in besides those that are within reach.
    """
    yield from simplifications(case, attempt)
    yield from depletions(attempt)
    yield from _early_ends(case, attempt)
    yield from _throttles(case, attempt)
    yield from _insertions(case, attempt)
    yield from _coasts_before(case, attempt)
    yield from _headings(case, attempt)
    yield from _drops(case, attempt, drops)


def _early_ends(case: Case, attempt: Attempt) -> Iterator[Move]:
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


def _last_arc(attempt: Attempt, stage: int) -> int:
    return max(k for k, arc in enumerate(attempt.sequence.arcs) if arc.stage == stage)


def depletions(attempt: Attempt) -> Iterator[Move]:
    """Stages that may be cut off early and burn all they have, without that freedom."""
    plan = attempt.plan
    for stage in plan.cut_early:
        if not (plan.relights(stage) or leaves_propellant(attempt, _last_arc(attempt, stage))):
            kept = tuple(other for other in plan.cut_early if other != stage)
            told = f"stage {stage + 1} burned to depletion"
            yield BurnToDepletion(replace(plan, cut_early=kept), inf, told)


def _throttles(case: Case, attempt: Attempt) -> Iterator[Move]:
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


def _insertions(case: Case, attempt: Attempt) -> Iterator[Move]:
    for k, (arc, own) in enumerate(zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)):
        if own.duration < SHORTEST or relights_left(case, attempt.plan, arc.stage) < 1:
            continue
        burn = _burn_of(attempt.sequence, k)
        if not has_plain_thrust(burn) or arc.fixed or arc.rise is not None:
            continue
        costs = coasting_cost(arc, own) if arc.burning else burning_cost(burn, own)
        best = int(np.argmin(costs))
        share = float(np.clip(own.arc.mesh.fractions()[best], LEAST_PART, 1.0 - LEAST_PART))
        plan = _relit(case, attempt, arc.stage, Place(k, share))
        if plan is not None:
            what = "coast put into" if arc.burning else "burn put into"
            seconds = coast_inserted_seconds(case)
            yield InsertArc(
                plan, -seconds * float(costs[best]), f"{what} {arc.name}", Place(k, share)
            )


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


def _coasts_before(case: Case, attempt: Attempt) -> Iterator[Move]:
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


def _headings(case: Case, attempt: Attempt) -> Iterator[Move]:
    given = case.mission.orbit.inclination is not None
    if not given or not has_two_headings(case.mission):
        return
    plan = replace(attempt.plan, southward=not attempt.plan.southward)
    yield OtherHeading(plan, inf, "the other heading")


def _drops(case: Case, attempt: Attempt, drops: Collection[str]) -> Iterator[Move]:
    fairing = case.vehicle.fairing
    if attempt.sequence.index_of_drop is None and fairing is not None:
        if not fairing_must_stay(case.mission, fairing):
            yield _first_drop(attempt)
        return
    near = () if fairing is None else places_within_reach(attempt, fairing)
    others = {*near, *drops} & {*attempt.other_burns_for_the_drop()}
    moves = (drop_in(case, attempt, name) for name in sorted(others))
    yield from (move for move in moves if move is not None)


def _first_drop(attempt: Attempt) -> DropFairing:
    """In the burn with which the inserting stage begins; from there it moves on."""
    last = attempt.plan.inserting_stage
    burns = (arc for arc in attempt.sequence.arcs if arc.stage == last and arc.burning)
    plan = replace(attempt.plan, fairing_arc=next(burns).name)
    return DropFairing(plan, inf, "the fairing dropped")


def drop_in(case: Case, attempt: Attempt, name: str | None) -> MoveFairingDrop | None:
    """The fairing in an arc of that name; None where there is no such arc, or no drop."""
    fairing, cut = case.vehicle.fairing, attempt.sequence.index_of_drop
    if fairing is None or cut is None or name not in attempt.sequence.names:
        return None
    place = attempt.sequence.names.index(name)
    saved = gain_without_heating(attempt, fairing, place)
    hotter = log_heating_ratio(attempt, fairing, place)
    gain = saved - price_of_heating(attempt.found) * hotter
    plan = replace(attempt.plan, fairing_arc=name)
    told = f"fairing dropped in {name!r}"
    return MoveFairingDrop(plan, gain, told, fairing.mass)

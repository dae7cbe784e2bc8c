"""Structures that nobody could solve, argued away: by a wider one that was, or to first order.

A structure is what it may do beyond plain burns to the end, one after the other: its freedoms. One
with fewer freedoms is a special case of one with more, whose best flight is no worse.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.inserting_stages import delta_v_carrying_upper_stages
from ascentopt.optimal.moves.fairing_drops import drop_in
from ascentopt.optimal.moves.freedoms import AddFreedom
from ascentopt.optimal.moves.mode_insertions import InsertArc, coast_inserted_seconds
from ascentopt.optimal.moves.moves import moves_from
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.solve.relaxed_tank import can_relax_tank, remaining_delta_v
from ascentopt.optimal.switching.coasting import cost_of_coasting
from ascentopt.rocket import Vehicle


class FreedomKind(Enum):
    """What a stage may do; the value says so after its number."""

    COAST = "coasts before it is lit"
    RELIGHT = "is lit again"
    EARLY = "is cut off early"
    THROTTLE = "is throttled"


@dataclass(frozen=True)
class Freedom:
    """Something that a stage may do, for the so many-th time."""

    kind: FreedomKind
    stage: int
    time: int = 1

    @property
    def first_time(self) -> Freedom:
        """The same, whichever time it is: to first order they gain alike."""
        return replace(self, time=1)

    def __str__(self) -> str:
        return f"stage {self.stage + 1} {self.kind.value}"


def freedoms(plan: FlightPlan) -> frozenset[Freedom]:
    """All that a plan leaves to its stages."""
    return frozenset(_freedoms(plan))


def _freedoms(plan: FlightPlan) -> Iterator[Freedom]:
    yield from (Freedom(FreedomKind.COAST, stage) for stage in plan.coast_before)
    yield from (Freedom(FreedomKind.EARLY, stage) for stage in plan.cut_early)
    yield from (Freedom(FreedomKind.THROTTLE, stage) for stage in plan.throttling)
    for stage in {*plan.relit, plan.inserting_stage}:
        for time in range(plan.relights(stage)):
            yield Freedom(FreedomKind.RELIGHT, stage, time + 1)


def differ_in_freedoms_alone(plan: FlightPlan, other: FlightPlan) -> bool:
    """Whether two plans differ in their freedoms, and where the fairing goes, alone."""
    return _rest(plan) == _rest(other)


def _rest(plan: FlightPlan) -> tuple[object, ...]:
    return plan.inserting_stage, plan.unlit, plan.southward, plan.ballast, plan.longest_coast


def is_part_of(plan: FlightPlan, other: FlightPlan) -> bool:
    """Whether one structure is a special case of another, the fairing's place left aside.

    A coast before a stage is the one after a first burn of no length, for which the stage is lit
    once more; and a stage that is lit again may end before its propellant does.
    """
    if not differ_in_freedoms_alone(plan, other):
        return False
    has, wants = freedoms(other), freedoms(plan)
    waits = {one.stage for one in wants - has if one.kind is FreedomKind.COAST}
    ends = {one for one in wants if one.kind is FreedomKind.EARLY and other.relights(one.stage)}
    kept = {one for one in wants - ends if not (one.kind is FreedomKind.COAST and one not in has)}
    again = {Freedom(FreedomKind.RELIGHT, k, 1 + plan.relights(k)) for k in waits}
    return kept | again <= has


def first_order_gains(case: Case, best: Attempt) -> dict[Freedom, float]:
    """Kg that each freedom which the best flight has not got gains to first order."""
    own, gains = freedoms(best.plan), dict[Freedom, float]()
    for move in moves_from(case, best):
        if isinstance(move, AddFreedom | InsertArc):
            for freedom in freedoms(move.plan) - own:
                gains[freedom.first_time] = max(move.gain, gains.get(freedom.first_time, move.gain))
    for stage in range(1, best.plan.inserting_stage + 1):
        cost = cost_of_coasting(best.found, best.sequence, stage)
        gains.setdefault(Freedom(FreedomKind.COAST, stage), -coast_inserted_seconds(case) * cost)
    return gains


def argued_away(case: Case, best: Attempt, plan: FlightPlan, negligible_gain: float) -> str | None:
    """Why a plan beats the best flight by no more than so many kg; None if it may.

    An insertion by an earlier stage is the last one's with a burn of no length, which is no better
    than the best: with less ideal delta-v than that uses, nothing is to be found.
    """
    if plan.unlit and not best.plan.unlit:
        return why_earlier_stage_lacks(case.vehicle, best, plan)
    return _why_it_gains_nothing(case, best, plan, negligible_gain)


def _why_it_gains_nothing(
    case: Case, best: Attempt, plan: FlightPlan, negligible_gain: float
) -> str | None:
    """The same to first order.

    A coast between burns of a stage is no matter of slopes: half a revolution gains where a pause
    of seconds loses. Gains of several freedoms add up; a loss by one hides no gain by another, for
    it need not be used.
    """
    more = freedoms(plan) - freedoms(best.plan)
    if not differ_in_freedoms_alone(plan, best.plan) or any(
        freedom.kind is FreedomKind.RELIGHT for freedom in more
    ):
        return None
    if not more:
        drop = drop_in(case, best, plan.fairing_arc)
        if drop is None or drop.gain > negligible_gain:
            return None
        return f"{drop.description}: not solved, and promises {drop.gain:.2g} kg to first order"
    gains = first_order_gains(case, best)
    if not all(freedom.first_time in gains for freedom in more):
        return None
    total = sum(max(gains[freedom.first_time], 0.0) for freedom in more)
    if total > negligible_gain:
        return None
    told = ", ".join(sorted({str(freedom) for freedom in more}))
    return f"{told}: not solved, and promises {total:.2g} kg to first order"


def why_earlier_stage_lacks(
    vehicle: Vehicle, best: Attempt, plan: FlightPlan, enough: float = 1.0
) -> str | None:
    """Why the stages up to an earlier one have too little for the orbit; None if they may.

    Whatever they can reach the last one can, all but unlit.

    Args:
        vehicle, plan: whose earlier stage is to insert.
        best: an ascent by the last stage.
        enough: share of what that uses with which the earlier one may do.
    """
    has = delta_v_carrying_upper_stages(vehicle, plan.inserting_stage)
    needs = vehicle.ideal_delta_v - remaining_delta_v(vehicle, best.sequence, best.final_mass)
    if not can_relax_tank(vehicle) or has >= enough * needs:
        return None
    return (
        f"not solved, and the best ascent by the last stage uses {needs:.0f} m/s: the stages up to "
        f"number {plan.inserting_stage + 1} have {has:.0f} m/s with the others aboard"
    )

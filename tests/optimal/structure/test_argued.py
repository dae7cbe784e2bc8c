"""What a structure that nobody could solve is left out for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.structure.census import Grounds, census
from ascentopt.optimal.structure.dominance import (
    argued_away,
    first_order_gains,
    freedoms,
    is_part_of,
)
from tests.launchers import PELICAN_POINT, TURNSTONE

CASE = Case(TURNSTONE, PELICAN_POINT)

STAGES = st.sets(st.sampled_from([0, 1])).map(lambda chosen: tuple(sorted(chosen)))

PLANS = st.builds(
    FlightPlan,
    inserting_stage=st.just(2),
    coast_before=STAGES,
    cut_early=STAGES,
    throttling=STAGES,
    restarts=st.integers(0, 3),
    relit=st.lists(st.sampled_from([0, 1]), max_size=3).map(lambda chosen: tuple(sorted(chosen))),
    southward=st.booleans(),
)


def without_implied_ends(plan: FlightPlan) -> FlightPlan:
    """The plan without early ends of stages that are lit again: their burns end freely anyway."""
    return replace(plan, cut_early=tuple(k for k in plan.cut_early if not plan.relights(k)))


@cache
def best() -> Attempt:
    return optimum(TURNSTONE, PELICAN_POINT, Effort()).attempt


@given(PLANS, PLANS)
def test_of_two_structures_that_are_parts_of_each_other_there_is_one(
    plan: FlightPlan, other: FlightPlan
) -> None:
    assert is_part_of(plan, plan)
    mutual = is_part_of(plan, other) and is_part_of(other, plan)
    assert mutual == (without_implied_ends(plan) == without_implied_ends(other))


@given(PLANS, PLANS, PLANS)
def test_a_part_of_a_part_is_a_part(one: FlightPlan, two: FlightPlan, three: FlightPlan) -> None:
    if is_part_of(one, two) and is_part_of(two, three):
        assert is_part_of(one, three)


@given(PLANS)
def test_one_restart_more_is_one_freedom_more(plan: FlightPlan) -> None:
    more = replace(plan, restarts=plan.restarts + 1)
    assert len(freedoms(more) - freedoms(plan)) == 1
    assert is_part_of(plan, more)
    assert not is_part_of(more, plan)


@given(PLANS, st.sampled_from([1, 2]))
def test_a_coast_before_a_stage_is_one_after_a_burn_of_no_length(
    plan: FlightPlan, stage: int
) -> None:
    """So the stage that is lit once more has that flight among its own; but for its one coast."""
    free = replace(plan, coast_before=tuple(k for k in plan.coast_before if k != stage))
    waiting = replace(free, coast_before=tuple(sorted((*free.coast_before, stage))))
    again = (
        replace(free, restarts=free.restarts + 1)
        if stage == free.inserting_stage
        else replace(free, relit=tuple(sorted((*free.relit, stage))))
    )
    assert is_part_of(waiting, again)
    assert not is_part_of(waiting, free)
    assert not is_part_of(again, waiting)


def test_an_unsolved_special_case_of_what_was_solved_is_bounded_by_it() -> None:
    """Fewer burns are the same burns, some without length."""
    fewer = replace(best(), plan=replace(best().plan, restarts=0), solution=None, shortfall=None)
    count = census(best(), [fewer], Grounds(worth=0.0))
    assert best().plan.restarts == 1
    assert (count.bounded, count.open) == (1, ())


def test_a_structure_whose_freedom_gains_nothing_is_argued_away_and_says_so() -> None:
    more = replace(best().plan, cut_early=(0,))
    assert max(first_order_gains(CASE, best()).values()) < 1e-3 * TURNSTONE.propellant_mass
    told = argued_away(CASE, best(), more, 1e-4 * TURNSTONE.propellant_mass)
    assert told is not None
    assert "stage 1 is cut off early" in told
    assert "to first order" in told


@pytest.mark.parametrize("worth", [0.0, 1e9])
def test_nothing_is_argued_of_the_other_heading(worth: float) -> None:
    other = replace(best().plan, southward=not best().plan.southward)
    assert argued_away(CASE, best(), other, worth) is None


@pytest.mark.parametrize("worth", [0.0, 1e9])
def test_no_slope_argues_away_half_a_revolution(worth: float) -> None:
    """A pause of seconds in a burn may lose where a transfer gains a tonne."""
    short = attempt_from_first_guess(
        task_of(TURNSTONE, PELICAN_POINT), FlightPlan(inserting_stage=1)
    )
    more = replace(short.plan, restarts=1)
    assert argued_away(CASE, short, more, worth) is None


@pytest.mark.parametrize(("gain", "open_ones"), [(0.5, 0), (2.0, 1)])
def test_what_promised_more_without_the_limits_is_not_argued_away(
    gain: float, open_ones: int
) -> None:
    """By kg over what is left at the best, where one is what an answer may be worse by."""
    promised = best().unspent + gain
    lost = replace(best(), plan=replace(best().plan, restarts=2), solution=None, shortfall=None)
    grounds = Grounds(worth=1.0, argued=lambda plan: "no gain")
    count = census(best(), [replace(lost, unspent_without_limits=promised)], grounds)
    assert len(count.open) == open_ones
    assert len(count.left_out) == 1 - open_ones


@pytest.mark.parametrize(("residual", "open_ones"), [(1e-9, 0), (1e-3, 1)])
def test_a_flight_that_the_solver_left_creeping_leaves_its_structure_open(
    residual: float, open_ones: int
) -> None:
    left = replace(best().found.residuals, dual=residual)
    other = replace(best(), plan=replace(best().plan, southward=True), keeps_limits=False)
    creeping = replace(other, solution=replace(best().found, residuals=left))
    assert creeping.reached
    assert creeping.stopped_short == bool(open_ones)
    assert len(census(best(), [creeping], Grounds(worth=0.0)).open) == open_ones


def test_an_earlier_stage_with_less_than_the_best_ascent_uses_is_argued_away() -> None:
    alone = replace(best().plan, inserting_stage=0, unlit=1, fairing_arc=None)
    told = argued_away(CASE, best(), alone, 1e-4 * TURNSTONE.propellant_mass)
    assert told is not None
    assert "the best ascent by the last stage uses" in told


def test_a_further_burn_is_no_matter_of_slopes() -> None:
    """Half a revolution more gains where a pause of seconds loses."""
    once = replace(best().plan, restarts=1, fairing_arc=best().plan.fairing_arc)
    again = replace(once, restarts=2)
    solved = replace(best(), plan=once)
    assert argued_away(CASE, solved, again, TURNSTONE.propellant_mass) is None

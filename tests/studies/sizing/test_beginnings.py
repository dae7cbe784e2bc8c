"""Vehicles that end at their bounds, and designs that are better far from there."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.designs.beginnings import other_beginnings
from ascentopt.studies.designs.design_space import DesignSpace
from tests.studies.sizing.rockets import (
    all_propellants,
    marl,
    ruff,
    ruff_laws,
    slag,
    tern,
    tern_laws,
)

LOADS = (
    ao.FreePropellant(stage="lower", least=10.0, most=500.0),
    ao.FreePropellant(stage="upper", least=5.0, most=200.0),
)
THRUSTS = (
    ao.FreeThrust(stage="lower", least=100.0, most=3000.0),
    ao.FreeThrust(stage="upper", least=40.0, most=1500.0),
)


def heaviest(vehicle: ao.Vehicle, budget: float) -> ao.Sizing:
    """All loads and thrusts free, for a mass at lift-off."""
    return ao.size(
        vehicle,
        slag(),
        free=[*LOADS, *THRUSTS],
        laws=tern_laws(),
        objective=ao.GreatestPayload(within=ao.LiftOffMassBudget(most=budget)),
    )


@cache
def from_the_draft() -> ao.Sizing:
    return heaviest(tern(), 130.0)


@pytest.mark.slow
def test_the_greatest_payload_does_not_hang_on_the_draft() -> None:
    """From the draft, and from the lightest vehicle for its payload."""
    least = ao.size(
        tern(), slag(), free=[*LOADS, *THRUSTS], laws=tern_laws(), objective=ao.LeastLiftOffMass()
    )
    there = heaviest(least.vehicle, 130.0)
    assert from_the_draft().settled
    assert there.settled
    assert from_the_draft().value == pytest.approx(there.value, rel=2e-4)
    assert not from_the_draft()["upper: propellant"].at_least


@pytest.mark.slow
def test_the_lightest_vehicle_for_the_greatest_payload_weighs_the_budget() -> None:
    best = from_the_draft()
    back = ao.size(
        replace(tern(), payload_mass=best.value),
        slag(),
        free=[*LOADS, *THRUSTS],
        laws=tern_laws(),
        objective=ao.LeastLiftOffMass(),
    )
    assert back.value == pytest.approx(130.0, rel=2e-4)


@cache
def cheapest(payload: float) -> ao.Sizing:
    """The upper stage is dear, and the lower one alone reaches the orbit."""
    lower = ao.StageCost(stage="lower", per_propellant=1.0, per_dry_mass=20.0, per_thrust=0.05)
    upper = ao.StageCost(stage="upper", per_propellant=2.0, per_dry_mass=60.0)
    cost = ao.LinearCost(fixed=100.0, stages=[lower, upper])
    loads = [replace(LOADS[0], least=30.0), replace(LOADS[1], most=12.0)]
    return ao.size(
        replace(tern(), payload_mass=payload),
        slag(),
        free=[*loads, *THRUSTS],
        laws=tern_laws(),
        objective=ao.LeastCost(cost=cost),
    )


@pytest.mark.slow
def test_a_stage_that_was_left_unlit_is_cheaper_lit() -> None:
    """The first descent ends with it unlit, at its bounds; beginning in their middle lights it."""
    found = cheapest(60.0)
    assert found.settled
    assert not found.ascent.plan.unlit
    assert any("went on" in line for line in found.beginnings)
    assert found.beginnings[0] in str(found)
    assert found.beginnings[0] in found.history


@pytest.mark.slow
def test_what_a_kilogram_of_payload_costs_by_sizing_again() -> None:
    low, high = cheapest(60.0), cheapest(60.6)
    slope = 0.5 * (low.objective_slope + high.objective_slope)
    assert slope > 0.0
    assert (high.value - low.value) / 0.6 == pytest.approx(slope, rel=0.03)


def space(*, payload: bool = False) -> DesignSpace:
    vehicle = ruff()
    budget = ao.LiftOffMassBudget(most=12e3)
    objective = ao.GreatestPayload(within=budget) if payload else ao.LeastLiftOffMass()
    return DesignSpace(
        vehicle=vehicle,
        free=tuple(all_propellants(vehicle, 0.05)),
        laws=tuple(ruff_laws(vehicle)),
        objective=objective,
    )


def test_nothing_is_begun_again_where_no_bound_holds() -> None:
    design = space()
    assert not list(other_beginnings(design, 0.5 * (design.lower + design.upper)))


def test_what_is_held_begins_in_the_middle_of_its_bounds() -> None:
    design = space()
    values = np.array([0.5 * design.upper[0], design.lower[1]])
    (only,) = other_beginnings(design, values)
    assert only.moved == ("second: propellant",)
    middle = np.sqrt(design.lower[1] * design.upper[1])
    assert only.values == pytest.approx([values[0], middle])


def test_whole_numbers_as_bounds_are_no_whole_numbers_of_the_search() -> None:
    vehicle = ruff()
    load = ao.FreePropellant(stage="first", least=1000, most=3000)
    laws, sought = tuple(ruff_laws(vehicle)), ao.LeastLiftOffMass()
    design = DesignSpace(vehicle=vehicle, free=(load,), laws=laws, objective=sought)
    (only,) = other_beginnings(design, design.lower)
    assert only.values[0] == pytest.approx(np.sqrt(3e6), rel=1e-12)


def test_other_beginnings_are_within_the_budget() -> None:
    design = space(payload=True)
    values = np.array([design.lower[0], design.upper[1], 900.0])
    begun = list(other_beginnings(design, values))
    assert [one.moved for one in begun] == [
        ("first: propellant", "second: propellant"), ("first: propellant",),
    ]  # fmt: skip
    for one in begun:
        assert design.vehicle_at(one.values).lift_off_mass <= 12e3 * (1.0 + 1e-12)


@pytest.mark.slow
def test_a_bound_that_is_right_stays_and_the_other_beginning_is_told() -> None:
    """The first stage must hold more than is best: what begins with more of it ends heavier."""
    vehicle = ruff()
    first, second = all_propellants(vehicle, 0.05)
    found = ao.size(
        vehicle,
        marl(),
        free=[replace(first, least=7000.0), second],
        laws=ruff_laws(vehicle),
        objective=ao.LeastLiftOffMass(),
    )
    (line,) = found.beginnings
    assert "with first: propellant from the middle" in line
    assert float(line.split(": ")[-1]) > found.value * (1.0 - 1e-4)
    assert found["first: propellant"].at_least

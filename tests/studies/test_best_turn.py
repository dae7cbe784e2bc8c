"""The best gravity turn, and the valley it lies in."""

from __future__ import annotations

from dataclasses import replace
from math import isnan

import pytest

import ascentopt as ao
from tests.studies.wren import MISSION, VEHICLE


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def turn(ascent: ao.Ascent) -> ao.RuleOutcome:
    return ao.best_gravity_turn(ascent)


def test_it_reaches_the_orbit_dearer_than_the_optimum(turn: ao.RuleOutcome) -> None:
    assert turn.reached
    assert turn.tuned
    assert turn.penalty is not None
    assert turn.penalty > 0.0
    assert [one.name for one in turn.parameters] == ["kick speed", "kick angle"]


def test_a_larger_kick_costs_more_and_a_smaller_one_fails(
    ascent: ao.Ascent, turn: ao.RuleOutcome
) -> None:
    found = ao.valley(ascent, turn, step=0.003)
    assert turn.broken == ()
    # The best kick is the smallest one: with less the apoapsis passes the orbit before cut-off.
    assert isnan(found.smaller)
    assert found.larger > 0.0


def test_only_kicks_have_a_valley(ascent: ao.Ascent, turn: ao.RuleOutcome) -> None:
    with pytest.raises(ao.InputError, match="Give what best_gravity_turn returns"):
        ao.valley(ascent, replace(turn, rule="constant pitch rate"))

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


def test_a_larger_kick_costs_more_and_a_smaller_one_much_more(
    ascent: ao.Ascent, turn: ao.RuleOutcome
) -> None:
    found = ao.valley(ascent, turn, step=0.003)
    assert turn.broken == ()
    # With less the apoapsis passes the orbit before the last stage is lit: the lower one is cut
    # off, and what it has left is dropped with it.
    assert found.smaller > 5.0 * found.larger > 0.0


def test_no_kick_is_smaller_than_none(ascent: ao.Ascent, turn: ao.RuleOutcome) -> None:
    assert isnan(ao.valley(ascent, turn, step=1.0).smaller)


def test_only_kicks_have_a_valley(ascent: ao.Ascent, turn: ao.RuleOutcome) -> None:
    with pytest.raises(ao.InputError, match="Give what best_gravity_turn returns"):
        ao.valley(ascent, replace(turn, rule="constant pitch rate"))

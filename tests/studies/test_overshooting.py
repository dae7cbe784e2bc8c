"""Rules of thumb, maps and habits for a rocket whose first stage overshoots the orbit."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.units import deg
from tests.rules.pebble import MISSION, relit

VEHICLE = relit(0, 1)
OWN = ao.KickRule(habit=(50.0, 5 * deg))


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def found(ascent: ao.Ascent) -> ao.Comparison:
    return ao.compare(ascent.vehicle, ascent.mission, ascent=ascent)


def test_tuned_rules_fly_within_the_limits(found: ao.Comparison) -> None:
    tuned = [one for one in found.outcomes if one.tuned]
    assert len(tuned) == 6
    kept = [one for one in tuned if one.reached and not one.broken]
    assert len(kept) >= 4
    costs = [one.penalty for one in kept if one.penalty is not None]
    assert 0.0 < min(costs) < 0.02 * found.ascent.propellant_used


def test_no_rule_beats_the_optimum(found: ao.Comparison) -> None:
    kept = [one.penalty for one in found.outcomes if one.penalty is not None and not one.broken]
    assert min(kept) > -1e-4 * found.ascent.propellant_used


def test_every_dash_has_a_reason_without_names_of_ours(found: ao.Comparison) -> None:
    for one in found.outcomes:
        if not one.reached:
            assert one.remark
            assert "(radius=" not in one.remark
            assert "At" not in one.remark


def test_what_flew_says_by_which_plan(found: ao.Comparison) -> None:
    early = [one for one in found.outcomes if one.law is not None and one.law.plan.cut_early]
    assert early
    assert all("'lower' is cut off" in one.remark for one in early)


def test_a_map_is_not_empty(ascent: ao.Ascent) -> None:
    found = ao.cost_map(
        ascent,
        ao.KickRule(),
        ao.Circularise(),
        across=tuple(angle * deg for angle in range(2, 17, 2)),
        upward=(40.0, 60.0, 80.0),
    )
    assert np.isfinite(found.penalty).mean() > 0.6
    assert np.nanmin(found.penalty) > 0.0


def test_the_best_gravity_turn_is_found(ascent: ao.Ascent) -> None:
    turn = ao.best_gravity_turn(ascent)
    assert turn.penalty is not None
    assert 0.0 < turn.penalty < 0.02 * ascent.propellant_used


def test_a_habit_of_ones_own_flies(ascent: ao.Ascent) -> None:
    """5 degrees at 50 m/s, follow, cut off at the apoapsis, coast, circularise."""
    catalogue = ao.Catalogue(rules=(OWN,), insertions=(ao.Circularise(),))
    found = ao.compare(ascent.vehicle, ascent.mission, ascent=ascent, catalogue=catalogue)
    habit = next(one for one in found.outcomes if not one.tuned)
    assert habit.flight is not None
    assert [str(one) for one in habit.parameters] == ["kick speed 50 m/s", "kick angle 5 deg"]
    assert [row.name for row in habit.flight.events][-3:] == [
        "lower separation", "upper ignition", "insertion",
    ]  # fmt: skip


def test_a_kick_before_the_rise_ends_is_reported_as_it_flew(ascent: ao.Ascent) -> None:
    early = ao.KickRule(habit=(12.0, 5 * deg))
    catalogue = ao.Catalogue(rules=(early,), insertions=(ao.Circularise(),))
    found = ao.compare(ascent.vehicle, ascent.mission, ascent=ascent, catalogue=catalogue)
    habit = next(one for one in found.outcomes if not one.tuned)
    assert habit.flight is not None
    speed = habit.parameters[0].value
    start = habit.flight.events["pitch-over"].time
    assert speed == pytest.approx(float(habit.flight.trajectory.at(start).air_speed))
    assert speed > 20.0


def test_a_map_says_what_the_vertical_rise_leaves(ascent: ao.Ascent) -> None:
    found = ao.cost_map(
        ascent, ao.KickRule(), ao.Circularise(), across=(10 * deg, 20 * deg), upward=(15.0, 60.0)
    )
    assert 20.0 < found.least_upward < 60.0
    assert f"kick speed below {found.least_upward:.4g} m/s is flown as that" in str(found)

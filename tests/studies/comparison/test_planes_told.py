"""Where a mission asks for no inclination a flight that leaves the easterly plane says so."""

from __future__ import annotations

from math import pi

import pytest

import ascentopt as ao
from ascentopt.units import deg
from ascentopt.world.orbital_elements import elements
from tests.rules.overshot import MISSION, WEAK

RULES = (ao.KickRule(), ao.AngleRule(), ao.PitchRateRule())


@pytest.fixture(scope="module")
def outcomes() -> dict[str, ao.RuleOutcome]:
    catalogue = ao.Catalogue(rules=RULES, insertions=(ao.LinearTangentInsertion(),))
    found = ao.compare(WEAK, MISSION, catalogue=catalogue)
    return {one.rule: one for one in found.outcomes if one.reached and one.tuned}


def inclination(one: ao.RuleOutcome) -> float:
    assert one.flight is not None
    end = one.flight.final_state
    return elements(MISSION.body.gravitational_parameter, end[:3], end[3:6]).inclination


def test_what_turns_back_says_so(outcomes: dict[str, ao.RuleOutcome]) -> None:
    """It carries more than it needs, and burns that by turning round."""
    back = [one for one in outcomes.values() if inclination(one) > 0.5 * pi]
    assert back
    for one in back:
        assert f"westward: the orbit's inclination is {inclination(one) / deg:.1f}" in one.remark


def test_what_keeps_to_the_east_is_silent(outcomes: dict[str, ao.RuleOutcome]) -> None:
    kick = outcomes[ao.KickRule().name]
    assert inclination(kick) < 17 * deg
    assert "inclination" not in kick.remark


def test_an_angle_is_told_with_its_altitude(outcomes: dict[str, ao.RuleOutcome]) -> None:
    angle = outcomes[ao.AngleRule().name]
    assert "the altitude is " in angle.remark
    assert " km" in angle.remark

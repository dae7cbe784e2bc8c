"""The comparison of the optimum with rules of thumb, on an invented small planet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rules.insertion.ways import Circularise
from ascentopt.rules.laws.kick import KickRule
from ascentopt.units import km
from tests.studies.wren import MISSION, VEHICLE

ONE = ao.Catalogue(rules=(KickRule(),), insertions=(Circularise(),))


@pytest.fixture(scope="module")
def found() -> ao.Comparison:
    return ao.compare(VEHICLE, MISSION, catalogue=ONE)


def test_the_tuned_rule_costs_more_than_the_optimum(found: ao.Comparison) -> None:
    best = found.best_rule
    assert best is not None
    assert best.tuned
    assert best.penalty is not None
    assert 1.0 < best.penalty < 0.02 * found.ascent.propellant_used
    assert found.ascent.certificate.rule_gain == pytest.approx(
        -best.penalty / found.ascent.propellant_used
    )


def test_the_rule_ends_in_the_same_circle(found: ao.Comparison) -> None:
    assert found.best_rule is not None
    assert found.best_rule.flight is not None
    state = found.best_rule.flight.final_state
    radius, speed = np.linalg.norm(state[:3]), np.linalg.norm(state[3:6])
    assert radius == pytest.approx(1020 * km, abs=1.0)
    assert speed == pytest.approx(np.sqrt(5.25e12 / (1020 * km)), abs=1e-3)
    assert float(state[:3] @ state[3:6]) / radius == pytest.approx(0.0, abs=1e-3)


def test_its_law_flies_again(found: ao.Comparison) -> None:
    best = found.best_rule
    assert best is not None
    assert best.law is not None
    assert best.propellant_used is not None
    again = ao.fly(VEHICLE, MISSION, best.law)
    dry = 800.0 + 700.0
    left = VEHICLE.propellant_mass - best.propellant_used
    assert again.final_state[6] - dry == pytest.approx(left, abs=1e-3)


def test_it_is_saved_and_loaded(found: ao.Comparison, tmp_path: Path) -> None:
    found.save(tmp_path / "comparison.json")
    again = ao.Comparison.load(tmp_path / "comparison.json")
    assert str(again) == str(found)
    assert again.outcomes[0].law == found.outcomes[0].law
    (tmp_path / "other.json").write_text('{"form": "ascent", "version": 1}', encoding="utf-8")
    with pytest.raises(ao.InputError, match="Give a file that holds 'comparison'"):
        ao.Comparison.load(tmp_path / "other.json")


def test_what_cannot_be_lit_again_coasts_before_it_is_lit(found: ao.Comparison) -> None:
    own = found.ascent.vehicle
    once = replace(own, stages=(own.stages[0], replace(own.stages[1], restarts=0)))
    direct = replace(found.ascent, vehicle=once)  # its optimum lights no stage again
    outcome = ao.compare(once, direct.mission, ascent=direct, catalogue=ONE).outcomes[0]
    assert outcome.reached
    assert "'lower' is cut off at the apoapsis of the orbit and dropped" in outcome.remark
    assert outcome.penalty is not None
    assert outcome.penalty < 0.01 * found.ascent.propellant_used


def test_a_single_stage_that_cannot_be_lit_again_says_so() -> None:
    alone = replace(VEHICLE, stages=(replace(VEHICLE.stages[1], restarts=0),))
    assert "cannot be lit again" in Circularise().lacks(alone, MISSION)
    assert not Circularise().lacks(VEHICLE, MISSION)


def test_orbits_that_are_given_in_part_are_not_compared() -> None:
    ellipse = replace(MISSION, orbit=ao.EllipticalOrbit(periapsis_altitude=120 * km))
    with pytest.raises(ao.InputError, match="Give both altitudes"):
        ao.compare(VEHICLE, ellipse, catalogue=ONE)

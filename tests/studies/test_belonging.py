"""What is given beside an ascent must be of it; comparisons and programmes are flown again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.report import simplify_figure
from ascentopt.report.flown import Flown
from ascentopt.units import deg, km
from tests.rules.pebble import MISSION, relit

ONE = ao.Catalogue(rules=(ao.KickRule(),), insertions=(ao.Circularise(),))


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(relit(0, 1), MISSION)


@pytest.fixture(scope="module")
def other(ascent: ao.Ascent) -> ao.Ascent:
    """As if another optimum had been solved for: it uses ten kilograms less."""
    return replace(ascent, propellant_used=ascent.propellant_used - 10.0)


@pytest.fixture(scope="module")
def found(ascent: ao.Ascent) -> ao.Comparison:
    return ao.compare(ascent.vehicle, ascent.mission, ascent=ascent, catalogue=ONE)


def test_an_ascent_of_another_vehicle_is_refused(ascent: ao.Ascent) -> None:
    heavier = replace(ascent.vehicle, payload_mass=ascent.vehicle.payload_mass + 1.0)
    with pytest.raises(ao.InputError, match=r"another vehicle: payload_mass is .*ascent\.vehicle"):
        ao.compare(heavier, ascent.mission, ascent=ascent, catalogue=ONE)


def test_an_ascent_of_another_mission_is_refused(ascent: ao.Ascent) -> None:
    higher = replace(MISSION, orbit=ao.CircularOrbit(altitude=200 * km))
    with pytest.raises(ao.InputError, match=r"another mission: orbit\.altitude is"):
        ao.compare(ascent.vehicle, higher, ascent=ascent, catalogue=ONE)


def test_the_instant_that_was_found_is_no_other_mission(ascent: ao.Ascent) -> None:
    orbit = ao.CircularOrbit(altitude=110 * km, inclination=40 * deg, ascending_node=1.0)
    free = replace(MISSION, orbit=orbit)
    of_node = replace(ascent, mission=replace(free, lift_off_time=77.0))
    of_node.check_belongs("compare", ascent.vehicle, free)
    of_node.check_belongs("compare", ascent.vehicle, replace(free, lift_off_time=77.0))
    with pytest.raises(ao.InputError, match=r"lift_off_time is 77\.0 there and 78\.0 here"):
        of_node.check_belongs("compare", ascent.vehicle, replace(free, lift_off_time=78.0))
    # Where it makes no difference any instant is as good.
    ascent.check_belongs("compare", ascent.vehicle, replace(ascent.mission, lift_off_time=5.0))


def test_a_comparison_is_flown_again(found: ao.Comparison, tmp_path: Path) -> None:
    assert found.verify()
    found.save(tmp_path / "comparison.json")
    again = ao.Comparison.load(tmp_path / "comparison.json")
    assert again == found
    assert again.verify()
    best = found.best_rule
    assert best is not None
    assert best.propellant_used is not None
    cheap = replace(best, propellant_used=best.propellant_used - 1.0)
    assert any(
        "propellant used" in one.quantity for one in cheap.verify(found.ascent).disagreements
    )
    forged = replace(found, outcomes=(cheap, *found.outcomes[1:]))
    assert not forged.verify()


def test_an_outcome_is_kept_by_itself(found: ao.Comparison, tmp_path: Path) -> None:
    best = found.best_rule
    assert best is not None
    best.save(tmp_path / "kick.json")
    assert ao.RuleOutcome.load(tmp_path / "kick.json") == best


def test_a_programme_is_flown_again_and_belongs_to_its_ascent(
    ascent: ao.Ascent, other: ao.Ascent, tmp_path: Path
) -> None:
    programme = ao.simplify(ascent, knots=4)
    assert programme.verify(ascent)
    programme.save(tmp_path / "programme.json")
    assert ao.SimplerProgramme.load(tmp_path / "programme.json") == programme
    assert not programme.verify(other)
    assert not replace(programme, propellant_used=programme.propellant_used - 1.0).verify(ascent)
    for drawn in (
        lambda: simplify_figure([programme], other),
        lambda: Flown.simplified(other, programme),
    ):
        with pytest.raises(ao.InputError, match="measured by an ascent that uses"):
            drawn()


def test_a_valley_is_that_of_its_own_ascent(found: ao.Comparison, other: ao.Ascent) -> None:
    kick = found.best_rule
    assert kick is not None
    with pytest.raises(ao.InputError, match="measured by an ascent that uses"):
        ao.valley(other, kick)


def test_a_map_goes_on_with_its_own_vehicle(ascent: ao.Ascent) -> None:
    rule, way = ao.KickRule(), ao.Circularise()
    begun = ao.cost_map(ascent, rule, way, across=(3 * deg, 5 * deg), upward=(40.0,))
    renamed = replace(ascent, vehicle=replace(ascent.vehicle, name="Another"))
    with pytest.raises(ao.InputError, match="the ascent is of 'Another"):
        ao.continue_map(replace(begun, flown=()), renamed, rule, way)


def test_the_greatest_payload_is_kept(ascent: ao.Ascent, tmp_path: Path) -> None:
    found = ao.MaxPayload(
        payload=ascent.vehicle.payload_mass, reserve=0.0, surplus=1.0, ascent=ascent,
        held_by=ao.Holder.unknown("the propellant"),
    )  # fmt: skip
    found.save(tmp_path / "payload.json")
    assert ao.MaxPayload.load(tmp_path / "payload.json") == found

"""A user's rule over the scenarios: the optima on record, its column, and what is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from benchmarks.heuristics import optima
from benchmarks.heuristics.record import Line
from benchmarks.heuristics.scoreboard import (
    flown_lines,
    fly_over,
    published,
    rule_named,
    scoreboard,
)
from tests.rules.ones_own import LEAN, PowerLean

SCENARIOS = ao.scenarios()
OPTIMA = optima.load()
THICK = SCENARIOS["marble-thick-air"]


def test_every_scenario_has_an_optimum_with_its_provenance() -> None:
    assert list(OPTIMA) == list(SCENARIOS)
    for name, scenario in SCENARIOS.items():
        found = optima.optimum_of(scenario, OPTIMA)
        assert found.verdict == "certified", name
        assert found.library.startswith("ascentopt ")
        assert re.fullmatch("[0-9a-f]{40}", found.commit), name
        assert re.fullmatch(r"20\d\d-\d\d-\d\d", found.day)
        whole = scenario.vehicle.propellant_mass
        assert found.propellant_used + found.propellant_margin == pytest.approx(whole), name


@pytest.mark.parametrize("name", ["marble-thick-air", "pebble-relit-first", "moon-brisk"])
def test_it_is_what_is_solved_for(name: str) -> None:
    again, found = optima.solved(SCENARIOS[name]), OPTIMA[name]
    assert again.propellant_used == pytest.approx(found.propellant_used, rel=1e-5)
    assert (again.structure, again.verdict) == (found.structure, found.verdict)
    assert len(again.flown.stages) == len(found.flown.stages)


def test_they_are_saved_and_loaded(tmp_path: Path) -> None:
    optima.save(OPTIMA.values(), tmp_path / "optima.json")
    assert optima.load(tmp_path / "optima.json") == OPTIMA
    assert (tmp_path / "optima.json").read_text() == optima.FILE.read_text()


def test_another_vehicle_has_no_optimum() -> None:
    heavier = replace(THICK, vehicle=replace(THICK.vehicle, payload_mass=1500.0))
    with pytest.raises(ao.InputError, match="'marble-thick-air' is of another vehicle"):
        optima.optimum_of(heavier, OPTIMA)
    with pytest.raises(ao.InputError, match="'new' is missing"):
        optima.optimum_of(replace(THICK, name="new"), OPTIMA)


def test_its_column_stands_beside_the_published_ones() -> None:
    chosen = [THICK, SCENARIOS["pebble-relit-first"]]
    told: list[tuple[str, int]] = []

    def progress(scenario: ao.Scenario, lines: tuple[Line, ...]) -> None:
        told.append((scenario.name, len(lines)))

    own = fly_over(PowerLean(), chosen, OPTIMA, progress)
    assert told == [(one.name, 2) for one in chosen]
    circle = own["coast and circularise"]
    for one in chosen:
        percent = circle[one.name].percent
        assert percent is not None
        assert 0.0 < percent < 0.2
    coasting = own["linear tangent"]["pebble-relit-first"].percent
    assert coasting is not None
    assert 0.0 < coasting < 0.3
    page = scoreboard(PowerLean(), own, [one.name for one in chosen])
    rows = {line.split("|")[1].strip(): line.split("|")[2:-1] for line in page.splitlines()[:-2]}
    assert [cell.strip() for cell in rows["flown"][:2]] == ["2 of 2", "2 of 2"]
    assert rows["marble-thick-air"][0].strip() == str(circle["marble-thick-air"])
    kick = published()["gravity turn from a kick", "coast and circularise"]
    assert str(kick["marble-thick-air"]) in page
    assert len(rows["flown"]) == 2 + len(published())


def test_the_published_rules_cost_more_than_the_optima() -> None:
    for column in published().values():
        assert set(column) == set(SCENARIOS)
        counted = [one.percent for one in column.values() if one.percent is not None and one.kept]
        assert min(counted) > 0.0


@pytest.mark.slow
def test_a_broken_limit_and_a_function_are_told() -> None:
    lines = flown_lines(LEAN, SCENARIOS["earth-small"], OPTIMA["earth-small"])
    broken = {line.insertion: line.broken for line in lines}
    assert "heating of the payload" in broken["coast and circularise"]
    assert not broken["linear tangent"]


def test_rules_are_found_by_path() -> None:
    assert rule_named("tests.rules.ones_own:PowerLean") == PowerLean()
    assert rule_named("tests.rules.ones_own:LEAN") is LEAN


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("tests.rules.ones_own", "must be package.module:Name"),
        ("tests.rules.ones_own:Nothing", "is not found"),
        ("examples.nowhere:PowerLean", "is not found"),
        ("tests.rules.ones_own:km", "must be an instance of ao.Rule"),
    ],
)
def test_what_is_no_rule_is_refused(path: str, said: str) -> None:
    with pytest.raises(ao.InputError, match=said):
        rule_named(path)

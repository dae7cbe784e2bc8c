"""The benchmark of the rules of thumb: scenarios, runner, table; budgets of Earth launches."""

from __future__ import annotations

import csv
import io
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.scenarios import Scenario, scenarios
from benchmarks.heuristics.record import Line, Record
from benchmarks.heuristics.run import blank, compared, run, thrust_to_weight
from benchmarks.heuristics.table import as_csv, markdown, suspects
from tests.flight.rockets import plain
from tests.optimal.launchers import earth_mission

ALL = tuple(scenarios().values())
LINE = Line(
    rule="constant pitch rate",
    insertion="linear tangent",
    tuned=True,
    parameters="pitch rate 0.5 deg/s",
    propellant=1010.0,
    penalty=10.0,
    broken="",
    remark="",
)


def stub(scenario: Scenario) -> Record:
    return replace(
        blank(scenario), verdict="certified", optimum=1000.0, margin=50.0, lines=(LINE,), failure=""
    )


def cheaper(scenario: Scenario, penalty: float, broken: str = "") -> Record:
    line = replace(LINE, penalty=penalty, broken=broken)
    return replace(stub(scenario), lines=(line,))


def test_scenarios_have_names_and_differ() -> None:
    assert len({s.name for s in ALL}) == len(ALL) >= 16
    assert {s.mission.body.name for s in ALL} == {"Earth", "Mars", "Moon", "Marble", "Pebble"}
    ratios = [thrust_to_weight(s) for s in ALL]
    assert min(ratios) > 1.0
    assert max(ratios) / min(ratios) > 2.0


def test_each_is_written_as_soon_as_it_is_finished(tmp_path: Path) -> None:
    def interrupted(scenario: Scenario) -> Record:
        if scenario is ALL[2]:
            raise KeyboardInterrupt
        return stub(scenario)

    with pytest.raises(KeyboardInterrupt):
        run(ALL, tmp_path, work=interrupted)
    assert {file.stem for file in tmp_path.glob("*.json")} == {ALL[0].name, ALL[1].name}
    ran: list[str] = []

    def counted(scenario: Scenario) -> Record:
        ran.append(scenario.name)
        return stub(scenario)

    records = run(ALL, tmp_path, work=counted)
    assert ran == [s.name for s in ALL[2:]]
    assert records == tuple(stub(s) for s in ALL)


def test_an_executor_changes_nothing(tmp_path: Path) -> None:
    with ThreadPoolExecutor(2) as executor:
        assert run(ALL, tmp_path, work=stub, executor=executor) == tuple(map(stub, ALL))


def test_a_scenario_that_cannot_fly_is_listed() -> None:
    heavy = replace(plain(), payload_mass=50e3)
    record = compared(Scenario(name="too-heavy", vehicle=heavy, mission=earth_mission()))
    assert record.failure.startswith("InputError: ")
    page = markdown((record,))
    assert "- too-heavy: InputError: " in page
    rows = list(csv.DictReader(io.StringIO(as_csv((record,)))))
    assert [row["failure"] for row in rows] == [record.failure]


def test_the_table_holds_the_penalties() -> None:
    page = markdown((stub(ALL[0]),))
    assert f"| {ALL[0].name} | - / - | - / - | - / - | - / - | - / - | - / 1.000 |" in page
    (row,) = csv.DictReader(io.StringIO(as_csv((stub(ALL[0]),))))
    assert float(row["penalty"]) == 10.0
    assert float(row["penalty_percent"]) == 1.0


def test_rules_that_cost_less_stand_out() -> None:
    records = (
        cheaper(ALL[0], -0.05),  # rounding
        cheaper(ALL[1], -0.2),
        cheaper(ALL[2], -0.2, broken="q alpha 200 kPa deg, limit 150 kPa deg"),
    )
    (found,) = suspects(records)
    assert found.startswith(ALL[1].name)
    assert "-0.020! |" in markdown(records)


# Gravity 1150 to 1576 m/s and drag 40 to 156 m/s: loss budgets of real launchers in R. Humble,
# G. Henry and W. Larson, Space Propulsion Analysis and Design, 1995 (second-hand). Bands of what
# was built, no limits of what can be.
GRAVITY, DRAG = (1150.0, 1576.0), (40.0, 156.0)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["earth-weak-upper", "earth-large-slow", "earth-boosters"])
def test_losses_are_those_of_real_launchers(name: str) -> None:
    budget = optimum(name).budget
    assert GRAVITY[0] < budget.gravity < GRAVITY[1]
    assert DRAG[0] < budget.drag < DRAG[1]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["earth-large-brisk", "earth-inclined", "earth-solid-first"])
def test_brisk_launchers_lose_less_to_gravity(name: str) -> None:
    # They leave the pad with 1.7 to 2.8 times their weight; the solid one also meets more drag.
    budget = optimum(name).budget
    assert 800.0 < budget.gravity < 1250.0
    assert (budget.drag > DRAG[1]) == (name == "earth-solid-first")


@pytest.mark.slow
def test_a_small_launcher_meets_more_drag() -> None:
    # Ten tonnes behind each square metre, where the large ones have thirty to forty.
    budget = optimum("earth-small").budget
    assert GRAVITY[0] < budget.gravity < GRAVITY[1]
    assert DRAG[1] < budget.drag < 200.0


def optimum(name: str) -> ao.Ascent:
    scenario = next(s for s in ALL if s.name == name)
    return ao.optimize(scenario.vehicle, scenario.mission)

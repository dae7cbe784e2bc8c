"""What each subcommand answers, in text and as JSON."""

from __future__ import annotations

import csv
import json
from math import inf
from pathlib import Path
from typing import Any

import pytest

import ascentopt as ao
from ascentopt.command import ExitCode
from tests.command.conftest import Runs


def strict(text: str) -> dict[str, Any]:
    """One object of JSON, which knows no NaN."""

    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    found = json.loads(text, parse_constant=refuse)
    assert isinstance(found, dict)
    return found


def test_solve_says_the_ascent_and_saves_it(run: Runs, description: Path, tmp_path: Path) -> None:
    kept, law = tmp_path / "ascent.json", tmp_path / "steering.csv"
    done = run("solve", description, "--save", kept, "--steering", law, "--time-limit", 100)
    assert done.code == ExitCode.DONE
    assert done.out.strip() == str(ao.Ascent.load(kept))
    assert done.err == f"ascentopt: wrote {kept}\nascentopt: wrote {law}\n"
    rows = [row for row in csv.reader(law.read_text().splitlines()) if not row[0].startswith("#")]
    assert len(rows) > 20


def test_solve_as_json(run: Runs, saved: Path) -> None:
    done = run("solve", saved, "--json")
    ascent, told = ao.Ascent.load(saved), strict(done.out)
    assert (done.code, done.err) == (ExitCode.DONE, "")
    assert told["exit_code"] == 0
    assert told["outcome"] == "done"
    assert told["verdict"] == "certified"
    assert told["propellant_used"] == ascent.propellant_used
    assert told["final_mass"] == ascent.final_mass
    assert [one["name"] for one in told["events"]] == [one.name for one in ascent.events]
    assert told["events"][-1]["time"] == pytest.approx(ascent.flight_time)
    assert told["delta_v"]["gravity"] == ascent.budget.gravity
    assert told["certificate"]["position_miss"] == ascent.certificate.position_miss
    assert told["certificate"]["rule_gain"] is None  # which is nan
    assert {one["quantity"] for one in told["partials"]} == {
        one.quantity for one in ascent.partials
    }


@pytest.mark.slow
def test_compare(run: Runs, saved: Path, tmp_path: Path) -> None:
    kept = tmp_path / "comparison.json"
    done = run("compare", saved, "--save", kept, "--json")
    told = strict(done.out)
    assert done.code == ExitCode.DONE
    assert done.err == f"ascentopt: wrote {kept}\n"
    comparison = ao.Comparison.load(kept)
    assert len(told["rules"]) == len(comparison.outcomes) > 4
    costs = [inf if one["penalty"] is None else one["penalty"] for one in told["rules"]]
    assert costs == sorted(costs)
    assert 0.0 < costs[0] < inf
    assert told["optimum"]["vehicle"] == "Sanderling"
    assert "constant pitch rate" in run("compare", saved).out


@pytest.mark.parametrize(("ending", "head"), [(".pdf", b"%PDF-"), (".png", b"\x89PNG")])
def test_card(run: Runs, saved: Path, tmp_path: Path, ending: str, head: bytes) -> None:
    out = tmp_path / f"card{ending}"
    done = run("card", saved, out)
    assert (done.code, done.out, done.err) == (ExitCode.DONE, "", f"ascentopt: wrote {out}\n")
    assert out.read_bytes().startswith(head)


def test_describe_solves_nothing(run: Runs, description: Path) -> None:
    done = run("describe", description)
    assert done.code == ExitCode.DONE
    assert "Vehicle 'Sanderling'" in done.out
    assert "circular orbit at 100 km" in done.out
    told = strict(run("describe", description, "--json").out)
    assert told["name"] == "moon-brisk"
    assert told["lift_off_mass"] == 7500.0


def test_an_example_to_begin_with(run: Runs, tmp_path: Path) -> None:
    out = tmp_path / "mine.toml"
    assert run("example", out).code == ExitCode.DONE
    assert ao.read(out) == ao.scenarios()["earth-small"]
    again = run("example", out)
    assert again.code == ExitCode.WRONG_INPUT
    assert "is there already; it must be a new file" in again.err
    other = tmp_path / "other.toml"
    assert "it must be one of earth-small" in run("example", other, "--scenario", "x").err
    assert run("example", other, "--scenario", "moon-brisk").code == ExitCode.DONE
    assert ao.read(other) == ao.scenarios()["moon-brisk"]

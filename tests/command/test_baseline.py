"""Costs on record from the command line: put there, held against, and explained."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import ascentopt as ao
from ascentopt.command import ExitCode
from tests.command.conftest import Runs


def heavier(description: Path, folder: Path) -> Path:
    """The same launch with one per cent more of payload."""
    text = description.read_text(encoding="utf-8")
    assert '"1 t"' in text
    path = folder / "heavier.toml"
    path.write_text(text.replace('"1 t"', '"1010 kg"'), encoding="utf-8")
    return path


def test_from_record_to_drift_to_update(run: Runs, description: Path, tmp_path: Path) -> None:
    costs = tmp_path / "costs.toml"
    done = run("baseline", "record", costs, description)
    assert done.code == ExitCode.DONE
    assert done.out == "moon-brisk: recorded\n"
    assert done.err == f"ascentopt: wrote {costs}\n"
    assert list(ao.Baseline.read(costs)) == ["moon-brisk"]

    done = run("baseline", "check", costs, description, "--json")
    [told] = json.loads(done.out)["cases"]
    assert (done.code, told["agrees"], told["name"]) == (ExitCode.DONE, True, "moon-brisk")

    changed = heavier(description, tmp_path)
    done = run("baseline", "check", costs, changed)
    assert done.code == ExitCode.DRIFTED
    assert "payload_mass" in done.out
    assert "predicts" in done.out
    assert "is not what the baseline has" in done.err
    done = run("baseline", "check", costs, changed, "--json")
    [told] = json.loads(done.out)["cases"]
    assert done.code == json.loads(done.out)["exit_code"] == ExitCode.DRIFTED
    assert told["difference"] > told["allowed"]
    assert abs(told["unexplained"]) < 0.02 * told["difference"]

    assert run("baseline", "update", costs, changed).code == ExitCode.DONE
    assert run("baseline", "check", costs, changed).code == ExitCode.DONE


def test_saved_ascents_are_held_by_the_names_of_their_files(
    run: Runs, saved: Path, tmp_path: Path
) -> None:
    costs = tmp_path / "costs.toml"
    assert run("baseline", "record", costs, saved).code == ExitCode.DONE
    assert list(ao.Baseline.read(costs)) == [saved.stem]
    assert run("baseline", "check", costs, saved).code == ExitCode.DONE


def test_mistakes_are_told_before_anything_is_solved(
    run: Runs, description: Path, saved: Path, tmp_path: Path
) -> None:
    costs = tmp_path / "costs.toml"
    twin = tmp_path / "twin.toml"
    twin.write_bytes(description.read_bytes())
    assert run("baseline", "check", costs, description).code == ExitCode.WRONG_INPUT
    done = run("baseline", "record", costs, description, twin)
    assert done.code == ExitCode.WRONG_INPUT
    assert "twin.toml is of the name 'moon-brisk', as is" in done.err
    assert not costs.exists()
    assert run("baseline", "record", costs, saved).code == ExitCode.DONE
    done = run("baseline", "record", costs, saved)
    assert done.code == ExitCode.WRONG_INPUT
    assert "has 'moon-brisk'; a case must be new" in done.err
    other = tmp_path / "other.toml"
    ao.write(other, ao.scenarios()["earth-small"])
    done = run("baseline", "check", costs, other)
    assert done.code == ExitCode.WRONG_INPUT
    assert "'earth-small'" in done.err


def test_one_that_flies_no_more_hides_no_other(run: Runs, saved: Path, tmp_path: Path) -> None:
    costs, heavy = tmp_path / "costs.toml", tmp_path / "heavy.toml"
    assert run("baseline", "record", costs, saved).code == ExitCode.DONE
    one = ao.scenarios()["moon-brisk"]
    ao.write(heavy, replace(one, name="heavy", vehicle=replace(one.vehicle, payload_mass=9000.0)))
    recorded = ao.Baseline.read(costs)
    recorded.merged_with(ao.Baseline({"heavy": recorded["moon-brisk"]})).write(costs)
    done = run("baseline", "check", costs, heavy, saved, "--json")
    assert done.code == ExitCode.NO_ASCENT
    first, second = json.loads(done.out)["cases"]
    assert (first["name"], first["agrees"]) == ("heavy", False)
    assert "short by" in first["text"]
    assert (second["name"], second["agrees"]) == ("moon-brisk", True)

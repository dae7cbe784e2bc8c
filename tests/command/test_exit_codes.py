"""How a run ended is told by its exit code, and in a sentence without a traceback."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.command import ExitCode, asked, main
from ascentopt.command.exit_code import MEANINGS
from tests.command.conftest import Runs


def test_all_codes_are_told_by_help(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments in (["--help"], ["solve", "--help"]):
        with pytest.raises(SystemExit) as end:
            main(arguments)
        assert end.value.code == 0
        said = capsys.readouterr().out
        assert all(f"{code:3}  {text}" in said for code, text in MEANINGS.items())
    assert set(MEANINGS) == set(ExitCode)


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["fly", "x.toml"],
        ["solve"],
        ["solve", "x.toml", "--time-limit", "soon"],
        ["solve", "x.toml", "--time-limit", "-3"],
        ["solve", "x.toml", "--time-limit", "nan"],
        ["card", "x.toml"],
    ],
)
def test_wrong_arguments(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == ExitCode.WRONG_INPUT
    assert "usage: ascentopt" in capsys.readouterr().err


def test_wrong_input(run: Runs, description: Path, saved: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(description.read_text().replace("dry_mass", "dri_mass"), encoding="utf-8")
    noise = tmp_path / "noise.json"
    noise.write_text("{", encoding="utf-8")
    nowhere = tmp_path / "nowhere"
    cases: list[tuple[list[object], str]] = [
        (["solve", tmp_path / "none.toml"], "none.toml is not there; it must be a file"),
        (["solve", bad], "vehicle.stages[0].dri_mass = '1.3 t' is given, but is no key here"),
        (["describe", bad], "Did you mean 'dry_mass'?"),
        (["solve", noise], "noise.json"),
        (["solve", tmp_path / "none.json"], "none.json"),
        (["card", saved, nowhere / "card.pdf"], "nowhere, which is no folder"),
        (["card", saved, tmp_path / "card.doc"], "its name must end in .pdf or .png or .svg"),
        (["card", saved, tmp_path], "its name must end in .pdf or .png or .svg"),
        (["solve", description, "--save", nowhere / "a.json"], "nowhere, which is no folder"),
        (["solve", description, "--save", tmp_path / "a.toml"], "its name must end in .json"),
        (["compare", description, "--save", nowhere / "a.json"], "nowhere, which is no folder"),
    ]
    for arguments, said in cases:
        done = run(*arguments)
        assert (done.code, done.out) == (ExitCode.WRONG_INPUT, "")
        assert done.err.startswith("ascentopt: ")
        assert said in done.err
        assert done.err.count("\n") == 1


def test_wrong_input_as_json(run: Runs, tmp_path: Path) -> None:
    done = run("solve", tmp_path / "none.toml", "--json")
    told = json.loads(done.out)
    assert told["exit_code"] == done.code == ExitCode.WRONG_INPUT
    assert told["message"] in done.err


def test_no_ascent(run: Runs, description: Path) -> None:
    text = description.read_text()
    assert '"1 t"' in text
    description.write_text(text.replace('"1 t"', '"9 t"'), encoding="utf-8")
    done = run("solve", description, "--json")
    told = json.loads(done.out)
    assert told["exit_code"] == done.code == ExitCode.NO_ASCENT
    assert told["shortfall"] > 100.0
    assert "short by" in told["message"]
    assert told["message"] in done.err


def test_out_of_time(run: Runs, tmp_path: Path) -> None:
    slow = tmp_path / "slow.toml"
    ao.write(slow, ao.scenarios()["earth-weak-upper"])
    done = run("solve", slow, "--time-limit", 0.05)
    assert (done.code, done.out) == (ExitCode.OUT_OF_TIME, "")
    assert "the 0.05 s allowed" in done.err or "time allowed" in done.err


@pytest.mark.parametrize(
    ("stop", "code"),
    [(ao.Interrupted, ExitCode.INTERRUPTED), (ao.OutOfTime, ExitCode.OUT_OF_TIME)],
)
def test_what_is_finished_is_kept(
    run: Runs,
    description: Path,
    saved: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    stop: type[ao.Interrupted | ao.OutOfTime],
    code: ExitCode,
) -> None:
    best = ao.Ascent.load(saved)

    def stopped(*_: object, **__: object) -> ao.Ascent:
        raise stop("stopped in the middle", best=best)

    monkeypatch.setattr(asked, "optimize", stopped)
    kept = tmp_path / "ascent.json"
    done = run("solve", description, "--save", kept, "--json")
    assert done.code == code
    assert f"wrote {kept}, which is not finished" in done.err
    assert str(ao.Ascent.load(kept)) == str(best)
    assert json.loads(done.out)["best"]["propellant_used"] == best.propellant_used


def test_a_plain_interrupt(run: Runs, description: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object, **__: object) -> ao.Ascent:
        raise KeyboardInterrupt

    monkeypatch.setattr(asked, "read", stopped)
    done = run("solve", description)
    assert (done.code, done.out) == (ExitCode.INTERRUPTED, "")
    assert done.err == "ascentopt: interrupted from the keyboard\n"


def test_not_certified(run: Runs, saved: Path, tmp_path: Path) -> None:
    ascent = ao.Ascent.load(saved)
    doubtful = replace(ascent, certificate=replace(ascent.certificate, primal_residual=1.0))
    path = tmp_path / "doubtful.json"
    doubtful.save(path)
    done = run("solve", path, "--json")
    assert done.code == ExitCode.NOT_CERTIFIED
    assert json.loads(done.out)["verdict"] == "doubtful"
    assert json.loads(done.out)["certificate"]["beyond"] != []
    assert "does not vouch" in done.err


def test_a_defect_is_no_exit_code_of_ours(
    description: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It shows where it is: nothing is caught that nobody expects."""

    def broken(*_: object, **__: object) -> ao.Ascent:
        raise ZeroDivisionError("a defect")

    monkeypatch.setattr(asked, "optimize", broken)
    with pytest.raises(ZeroDivisionError, match="a defect"):
        main(["solve", str(description)])

"""The real command, as a shell runs it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path
from time import monotonic, sleep

import pytest

import ascentopt as ao
from ascentopt.command import ExitCode, main

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-m", "ascentopt"]
WHERE = {**os.environ, "PYTHONPATH": str(ROOT)}


def shell(*arguments: object, folder: Path) -> subprocess.CompletedProcess[str]:
    line = [*COMMAND, *map(str, arguments)]
    return subprocess.run(
        line, cwd=folder, env=WHERE, capture_output=True, text=True, timeout=120, check=False
    )


def test_the_console_script_is_the_same_command() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    module, _, name = project["scripts"]["ascentopt"].partition(":")
    assert getattr(import_module(module), name) is main


@pytest.mark.slow
def test_each_subcommand_once(tmp_path: Path) -> None:
    made = shell("example", "mine.toml", "--scenario", "moon-brisk", folder=tmp_path)
    assert (made.returncode, made.stdout, made.stderr) == (0, "", "ascentopt: wrote mine.toml\n")
    described = shell("describe", "mine.toml", folder=tmp_path)
    assert (described.returncode, described.stderr) == (0, "")
    solved = shell("solve", "mine.toml", "--save", "ascent.json", folder=tmp_path)
    assert solved.returncode == 0
    assert solved.stdout.strip() == str(ao.Ascent.load(tmp_path / "ascent.json"))
    drawn = shell("card", "ascent.json", "card.pdf", folder=tmp_path)
    assert drawn.returncode == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF-")
    compared = shell("compare", "ascent.json", folder=tmp_path)
    assert compared.returncode == 0
    assert "rules of thumb beside the optimum" in compared.stdout
    recorded = shell("baseline", "record", "costs.toml", "ascent.json", folder=tmp_path)
    assert recorded.returncode == 0
    held = shell("baseline", "check", "costs.toml", "ascent.json", folder=tmp_path)
    assert (held.returncode, held.stderr) == (0, "")


def test_a_mistake_has_no_traceback(tmp_path: Path) -> None:
    done = shell("solve", "none.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (ExitCode.WRONG_INPUT, "")
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("ascentopt: none.toml is not there")


@pytest.mark.slow
def test_ctrl_c(tmp_path: Path) -> None:
    """While it solves: the sentence, the code, and no traceback."""
    ao.write(tmp_path / "slow.toml", ao.scenarios()["earth-boosters"])
    running = subprocess.Popen(
        [*COMMAND, "solve", "slow.toml"],
        cwd=tmp_path, env=WHERE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    sleep(4.0)
    assert running.poll() is None, running.communicate()
    running.send_signal(signal.SIGINT)
    pressed = monotonic()
    out, err = running.communicate(timeout=60)
    assert monotonic() - pressed < 3.0  # one by itself, on a machine that does nothing else
    assert (running.returncode, out) == (ExitCode.INTERRUPTED, "")
    assert "Traceback" not in err
    assert err.startswith("ascentopt: ")


def test_a_reader_that_has_seen_enough(tmp_path: Path) -> None:
    ao.write(tmp_path / "one.toml", ao.scenarios()["moon-brisk"])
    running = subprocess.Popen(
        [*COMMAND, "describe", "one.toml"],
        cwd=tmp_path, env=WHERE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert running.stdout is not None
    running.stdout.close()
    assert running.wait(timeout=60) == 0
    assert running.stderr is not None
    assert running.stderr.read() == ""
    running.stderr.close()

"""A description that is solved for in a second, and its ascent, saved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.command import main


@dataclass(frozen=True)
class Run:
    """What came of a command line."""

    code: int
    out: str
    err: str


Runs = Callable[..., Run]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runs:
    """Runs the command within this process."""

    def running(*arguments: object) -> Run:
        code = main([str(one) for one in arguments])
        said = capsys.readouterr()
        return Run(code, said.out, said.err)

    return running


@pytest.fixture
def description(tmp_path: Path) -> Path:
    path = tmp_path / "moon.toml"
    ao.write(path, ao.scenarios()["moon-brisk"])
    return path


@pytest.fixture(scope="session")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    one = ao.scenarios()["moon-brisk"]
    path = tmp_path_factory.mktemp("saved") / "moon-brisk.json"
    ao.optimize(one.vehicle, one.mission).save(path)
    return path

"""What is possible and mostly a slip is warned of with file and key, where the file is read."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.command import main
from ascentopt.rocket.stage import Stage
from tests.descriptions.test_refusals import GOOD


@pytest.fixture
def odd(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A description whose second stage is said to be odd."""
    kept = Stage.__post_init__

    def warn(stage: Stage) -> None:
        kept(stage)
        if stage.name == "second":
            warnings.warn("Stage 'second': it is odd", ao.UnusualInputWarning, stacklevel=1)

    monkeypatch.setattr(Stage, "__post_init__", warn)
    path = tmp_path / "rocket.toml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def test_file_and_key_are_told_where_it_is_read(odd: Path) -> None:
    with pytest.warns(ao.UnusualInputWarning) as caught:
        ao.read(odd)
    [one] = caught
    assert str(one.message) == f"{odd}: vehicle.stages[1]: Stage 'second': it is odd"
    assert one.filename == __file__


def test_a_user_may_take_it_for_an_error(odd: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error", ao.UnusualInputWarning)
        with pytest.raises(ao.UnusualInputWarning, match=r"rocket.toml: vehicle.stages\[1\]"):
            ao.read(odd)
        warnings.simplefilter("ignore", ao.UnusualInputWarning)
        ao.read(odd)


def test_the_command_says_it_in_a_line(odd: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["describe", str(odd)]) == 0
    said = capsys.readouterr().err
    assert said == f"ascentopt: warning: {odd}: vehicle.stages[1]: Stage 'second': it is odd\n"

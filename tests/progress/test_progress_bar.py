"""The bar: quiet where nobody looks, one line on a terminal, with or without tqdm."""

from __future__ import annotations

import sys
from io import StringIO

import pytest

import ascentopt as ao
from ascentopt.progress.progress_bar import in_one_line


class Terminal(StringIO):
    """A stream at which somebody sits."""

    def isatty(self) -> bool:
        return True


def step(done: int, doing: str, *, total: int | None = 4, over: bool = False) -> ao.Step[None]:
    return ao.Step(
        study="cost_map",
        doing=doing,
        done=done,
        total=total,
        seconds=12.34,
        over=over,
        finished=lambda: None,
    )


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """As where tqdm is not installed."""
    monkeypatch.setitem(sys.modules, "tqdm", None)


def test_a_step_in_a_line() -> None:
    bar = "[##########..........]"
    assert in_one_line(step(2, "a row")) == f"cost_map 2/4 {bar} 12.3 s  a row"
    assert in_one_line(step(2, "a row", total=None)) == "cost_map 2 12.3 s  a row"


@pytest.mark.usefixtures("plain")
def test_a_terminal_shows_one_line_that_is_written_over() -> None:
    stream = Terminal()
    bar = ao.ProgressBar(stream)
    bar(step(1, "a long row"))
    bar(step(4, "last", over=True))
    first, second = stream.getvalue().split("\r")[1:]
    assert first.endswith("a long row")
    assert second.endswith("\n")
    assert len(second.rstrip("\n")) >= len(first)  # nothing of the longer one is left
    bar(step(0, "another study"))
    assert stream.getvalue().endswith("another study")


@pytest.mark.usefixtures("plain")
def test_a_long_step_stays_in_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    stream = Terminal()
    ao.ProgressBar(stream)(step(1, "x" * 200))
    assert len(stream.getvalue()) == 40


@pytest.mark.usefixtures("plain")
def test_a_file_is_left_alone_unless_asked() -> None:
    quiet, asked = StringIO(), StringIO()
    bars = ao.ProgressBar(quiet), ao.ProgressBar(asked, always=True)
    for bar in bars:
        bar(step(1, "a row"))
        bar(step(2, "another", over=True))
    assert quiet.getvalue() == ""
    assert [line[-7:] for line in asked.getvalue().splitlines()] == ["  a row", "another"]


@pytest.mark.usefixtures("plain")
def test_standard_error_is_where_it_goes(capsys: pytest.CaptureFixture[str]) -> None:
    ao.ProgressBar(always=True)(step(1, "a row"))
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.endswith("a row\n")


def test_nothing_is_shown_where_there_is_no_stream(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", None)
    ao.ProgressBar(always=True)(step(1, "a row"))


def test_tqdm_shows_it_where_it_is_installed() -> None:
    pytest.importorskip("tqdm")
    stream = Terminal()
    bar = ao.ProgressBar(stream)
    bar(step(1, "a row"))
    bar(step(4, "the last row", over=True))
    text = stream.getvalue()
    assert "cost_map" in text
    assert "1/4" in text
    assert "4/4" in text
    assert "the last row" in text
    assert text.endswith("\n")

"""Steps in a line of text, for whoever waits at a terminal."""

from __future__ import annotations

import sys
from shutil import get_terminal_size
from typing import Any, Protocol, TextIO

from ascentopt.progress.step import Step

_WIDTH = 20  # characters of the bar itself


class ProgressBar:
    """Shows the steps of any study: ``ao.optimize(vehicle, mission, progress=ao.ProgressBar())``.

    With tqdm where that is installed (the extra "progress"), else in plain text. Quiet where nobody
    looks, in a file or a pipe. One bar may serve several studies, one after another.

    Args:
        stream: None for standard error, as it is at the first step.
        always: whether it is shown even where the stream is no terminal.
    """

    def __init__(self, stream: TextIO | None = None, *, always: bool = False) -> None:
        self._stream, self._always = stream, always
        self._line: _Line | None = None

    def __call__(self, step: Step[Any]) -> None:
        """Show a step."""
        stream = self._stream or sys.stderr
        if stream is None or not (self._always or stream.isatty()):
            return
        if self._line is None:
            self._line = _line_on(stream)
        self._line.show(step)
        if step.over:
            self._line.close()
            self._line = None


class _Line(Protocol):
    def show(self, step: Step[Any]) -> None:
        """Show a step in the place of the last one."""

    def close(self) -> None:
        """Leave the line as it is."""


def _line_on(stream: TextIO) -> _Line:
    try:
        import tqdm
    except ImportError:
        return _PlainLine(stream) if stream.isatty() else _Lines(stream)
    # No thread of its own, and nothing but what is told: the pace of solves foretells nothing.
    return _TqdmLine(tqdm.tqdm(file=stream, dynamic_ncols=True, mininterval=0.0, leave=True))


class _PlainLine:
    def __init__(self, stream: TextIO) -> None:
        self._stream, self._shown = stream, 0

    def show(self, step: Step[Any]) -> None:
        text = in_one_line(step)[: max(get_terminal_size().columns - 1, 1)]
        self._stream.write("\r" + text.ljust(self._shown))
        self._stream.flush()
        self._shown = len(text)

    def close(self) -> None:
        self._stream.write("\n")
        self._stream.flush()


class _Lines:
    """One below the other: a file knows no place to go back to."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def show(self, step: Step[Any]) -> None:
        self._stream.write(in_one_line(step) + "\n")
        self._stream.flush()

    def close(self) -> None:
        pass


class _TqdmLine:
    def __init__(self, bar: Any) -> None:
        self._bar = bar

    def show(self, step: Step[Any]) -> None:
        bar = self._bar
        bar.total, bar.n = step.total, step.done
        bar.set_description_str(step.study, refresh=False)
        bar.set_postfix_str(step.doing, refresh=True)

    def close(self) -> None:
        self._bar.close()


def in_one_line(step: Step[Any]) -> str:
    """A step as plain text, with a bar where it is known how many there will be."""
    if step.total:
        full = min(_WIDTH, _WIDTH * step.done // step.total)
        bar = f" {step.done}/{step.total} [{'#' * full}{'.' * (_WIDTH - full)}]"
    else:
        bar = f" {step.done}"
    return f"{step.study}{bar} {step.seconds:.1f} s  {step.doing}"

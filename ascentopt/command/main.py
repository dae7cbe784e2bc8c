"""The command: what it was asked for is done, said, and told by the exit code."""

from __future__ import annotations

import os
import sys
import warnings
from argparse import Namespace
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TextIO

from ascentopt.command.answer import Answer
from ascentopt.command.exit_code import MEANINGS, ExitCode
from ascentopt.command.parser import parser
from ascentopt.command.told import json_text, told_of_ascent
from ascentopt.errors import InfeasibleAscent, InputError, OutOfTime, UnusualInputWarning
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.comparison.comparison import Comparison

ERRORS: dict[type[BaseException], ExitCode] = {
    InputError: ExitCode.WRONG_INPUT,
    OSError: ExitCode.WRONG_INPUT,
    InfeasibleAscent: ExitCode.NO_ASCENT,
    OutOfTime: ExitCode.OUT_OF_TIME,
    KeyboardInterrupt: ExitCode.INTERRUPTED,
}
"""What is told in a sentence and an exit code; anything else is a defect, and shows where."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Do what a command line asks for; None takes that of the process.

    Returns:
        An `ExitCode`.

    Raises:
        SystemExit: for `--help`, and for arguments that do not parse.
    """
    asked = parser().parse_args(arguments)
    try:
        with _warnings_said():
            answer: Answer = asked.answer(asked)
    except tuple(ERRORS) as failure:
        return _fail(asked, failure)
    _say(json_text(_told(answer.code, answer.data)) if asked.json else answer.text)
    for file in answer.files:
        _say_beside(f"wrote {file}")
    if answer.code is not ExitCode.DONE:
        _say_beside(MEANINGS[answer.code])
    return answer.code


@contextmanager
def _warnings_said() -> Iterator[None]:
    """Warnings of unusual values in a sentence, without the line of code that they come from."""
    with warnings.catch_warnings():
        warnings.simplefilter("always", UnusualInputWarning)
        usual = warnings.showwarning

        def say(
            message: Warning | str,
            category: type[Warning],
            filename: str,
            lineno: int,
            file: TextIO | None = None,
            line: str | None = None,
        ) -> None:
            if issubclass(category, UnusualInputWarning):
                _say_beside(f"warning: {message}")
            else:
                usual(message, category, filename, lineno, file, line)

        warnings.showwarning = say
        yield


def _fail(asked: Namespace, failure: BaseException) -> ExitCode:
    code = next(code for kind, code in ERRORS.items() if isinstance(failure, kind))
    message = str(failure) or MEANINGS[code]
    if asked.json:
        best = getattr(failure, "best", None)
        _say(json_text(_told(code, {
            "message": message,
            "shortfall": getattr(failure, "shortfall", None),
            "best": told_of_ascent(best) if isinstance(best, Ascent) else None,
        })))  # fmt: skip
    _say_beside(message)
    _save_what_is_finished(asked, failure)
    return code


def _save_what_is_finished(asked: Namespace, failure: BaseException) -> None:
    """Where a result was to be saved and the work was stopped: what there was by then."""
    best, file = getattr(failure, "best", None), getattr(asked, "save", None)
    if isinstance(failure, InfeasibleAscent) or file is None:
        return
    if isinstance(best, Ascent | Comparison):
        best.save(file)
        _say_beside(f"wrote {file}, which is not finished")


def _told(code: ExitCode, data: dict[str, Any]) -> dict[str, Any]:
    return {"outcome": MEANINGS[code], "exit_code": int(code), **data}


def _say(text: str) -> None:
    """To standard output; a reader that has seen enough is none of our errors."""
    if not text:
        return
    try:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        # Python would flush once more as it ends, and fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say_beside(text: str) -> None:
    sys.stderr.write(f"ascentopt: {text}\n")

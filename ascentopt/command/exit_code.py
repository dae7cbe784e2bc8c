"""How a run of the command ended."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """What the command says when it ends.

    1 is left to what Python says of an error that nobody expected, with a traceback: a defect. 2 is
    what its argument parser says of wrong arguments, too. 130 is 128 and the number of the signal,
    as shells say of a command that Ctrl-C ended.
    """

    DONE = 0
    DEFECT = 1
    WRONG_INPUT = 2
    NO_ASCENT = 3
    DRIFTED = 4
    OUT_OF_TIME = 5
    NOT_CERTIFIED = 6
    INTERRUPTED = 130


MEANINGS = {
    ExitCode.DONE: "done",
    ExitCode.DEFECT: "a defect of ascentopt itself, with a traceback: please report it",
    ExitCode.WRONG_INPUT: "wrong arguments, a file that cannot be read or written, or is not right",
    ExitCode.NO_ASCENT: "no ascent reaches the orbit within the limits",
    ExitCode.DRIFTED: "a cost is not what the baseline has",
    ExitCode.OUT_OF_TIME: "the time limit is up",
    ExitCode.NOT_CERTIFIED: "solved, but the certificate does not vouch for it",
    ExitCode.INTERRUPTED: "interrupted from the keyboard",
}

IN_WORDS = "exit codes:\n" + "\n".join(f"  {code:3}  {text}" for code, text in MEANINGS.items())

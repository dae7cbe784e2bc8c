"""What a subcommand answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ascentopt.command.exit_code import ExitCode


@dataclass(frozen=True, kw_only=True)
class Answer:
    """For standard output, and how it ended.

    Args:
        text: for people.
        data: the same as a JSON object.
        code: how it ended.
        files: what was written.
    """

    text: str
    data: dict[str, Any]
    code: ExitCode = ExitCode.DONE
    files: tuple[str, ...] = ()

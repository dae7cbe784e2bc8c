"""The command `ascentopt`: each subcommand is a few lines over the library.

What was asked for goes to standard output, all else to standard error. How it ended is said by the
exit code, so that a script need not read: see `ExitCode`.
"""

from __future__ import annotations

from ascentopt.command.exit_code import ExitCode
from ascentopt.command.main import main

__all__ = ["ExitCode", "main"]

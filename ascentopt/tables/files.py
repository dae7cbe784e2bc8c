"""Text files written whole or not at all."""

from __future__ import annotations

from os import getpid
from pathlib import Path

from ascentopt.errors import InputError


def write_text(owner: str, path: str | Path, text: str) -> None:
    """Write a file in one go: what is interrupted leaves the old file whole.

    Args:
        owner: who writes, for the error: "Trajectory.to_csv".
        path: of the file.
        text: of which every line end is kept as it is.

    Raises:
        InputError: where it cannot be written.
    """
    target = Path(path)
    beside = target.with_name(f"{target.name}.{getpid()}.part")
    try:
        try:
            beside.write_text(text, encoding="utf-8", newline="")
            beside.replace(target)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as fault:
        raise InputError(
            f"{owner}: path is {str(path)!r}, which cannot be written ({fault.strerror}); it must "
            "be a file in a folder that exists and may be written to. Give another path, or make "
            "the folder."
        ) from fault

"""Text files written whole or not at all."""

from __future__ import annotations

from contextlib import suppress
from os import PathLike, getpid
from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.validation import instance


def write_text(owner: str, path: str | Path, text: str) -> None:
    """Write a file in one go: what is interrupted leaves the old file whole.

    Args:
        owner: who writes, for the error: "to_csv".
        path: of the file.
        text: of which every line end is kept as it is.

    Raises:
        InputError: where it cannot be written.
    """
    instance(owner, "path", path, (str, PathLike), "Give the path of a file.")
    try:
        _write_beside(Path(path), text)
    except (OSError, ValueError) as fault:  # a path may hold what no file system takes
        why = getattr(fault, "strerror", None) or fault
        raise InputError(
            f"{owner}: path is {str(path)!r}, which cannot be written ({why}); it must be a file "
            "in a folder that exists and may be written to. Give another path, or make the folder."
        ) from fault


def _write_beside(target: Path, text: str) -> None:
    beside = target.with_name(f"{target.name}.{getpid()}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="")
        beside.replace(target)
    finally:
        with suppress(OSError, ValueError):
            beside.unlink(missing_ok=True)

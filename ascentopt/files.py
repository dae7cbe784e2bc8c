"""Paths as they are given, and text files that are written whole or not at all."""

from __future__ import annotations

from contextlib import suppress
from os import PathLike, fspath, getpid
from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.telling import told


def path_given(owner: str, path: object) -> Path:
    """The path that was given to what ``owner`` names. Raises `InputError` for what is none."""
    text = fspath(path) if isinstance(path, str | PathLike) else None
    if isinstance(text, str) and text:
        return Path(text)
    raise InputError(
        f"{owner}: path is {told(path)}; it must be the path of a file. Give a text or a Path."
    )


def write_whole(owner: str, path: Path, text: str) -> None:
    """Put a text in the place of a file in one go: what is interrupted leaves the old file whole.

    Args:
        owner: who writes, for the error: "to_csv".
        path: of the file.
        text: of which every line end is kept as it is.

    Raises:
        InputError: where it cannot be written.
    """
    if path.is_dir():
        raise InputError(
            f"{owner}: {str(path)!r} is a folder; it must be a file. Add the name of a file to it."
        )
    try:
        _write_beside(path, text)
    except (OSError, ValueError) as fault:  # a path may hold what no file system takes
        raise InputError(
            f"{owner}: {str(path)!r} cannot be written ({why(fault)}); it must be a file in a "
            "folder that exists and may be written to. Give another path, or make the folder."
        ) from fault


def why(fault: Exception) -> str:
    """What the system says of a file that it does not read or write, without number and path."""
    return getattr(fault, "strerror", None) or str(fault)


def _write_beside(target: Path, text: str) -> None:
    beside = target.with_name(f"{target.name}.{getpid()}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="")
        beside.replace(target)
    finally:
        with suppress(OSError, ValueError):
            beside.unlink(missing_ok=True)

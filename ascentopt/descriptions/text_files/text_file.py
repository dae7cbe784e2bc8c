"""Text files that people wrote: what cannot be read is told in one sentence."""

from __future__ import annotations

from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.telling import meant

_MOST_BYTES = 50_000_000
"""A table of a million rows; what is larger was not written by people."""


def text_of_file(path: Path) -> str:
    """All of a text file in UTF-8. Raises `InputError` for what is none."""
    try:
        if not path.is_file():
            raise InputError(_not_there(path))
        if (size := path.stat().st_size) > _MOST_BYTES:
            raise InputError(
                f"{path} has {size} bytes; it must be a text of {_MOST_BYTES} at most. Give the "
                "description, not data."
            )
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError(
            f"{path} holds the byte {fault.object[fault.start]:#x} at {fault.start}; it must be "
            "a text in UTF-8. Save it so, or give another file."
        ) from None
    except OSError as fault:
        raise InputError(
            f"{path} cannot be read ({fault.strerror}); it must be a text file. Give another "
            "path, or the right to read it."
        ) from None
    except ValueError as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(f"{str(path)!r} is no path ({fault}). Give one of a text file.") from None


def _not_there(path: Path) -> str:
    if path.is_dir():
        return f"{path} is a folder; it must be a file. Add the name of a file to it."
    if path.exists():
        return f"{path} is no regular file; it must be a text file. Give another path."
    folder = path.parent
    beside = [one.name for one in folder.iterdir()] if folder.is_dir() else []
    fix = meant(path.name, beside, "Correct the path.")
    return f"{path} is not there; it must be a file that exists. {fix}"

"""One file that several processes may change: whole at any time, and no change lost."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ascentopt.errors import InputError

PATIENCE = 30.0
"""s to wait for another process, which holds a file for some milliseconds."""

_PAUSE = 0.01


def write_whole(path: Path, text: str) -> None:
    """Put a text in the place of a file in one go, so that nobody ever reads half of one.

    Raises `InputError` where the folder takes no file.
    """
    beside = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        beside.replace(path)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink()
        raise InputError(
            f"Baseline {str(path)!r}: it cannot be written ({fault}). Give a path in a folder that "
            "exists and takes files."
        ) from None


@contextmanager
def held(path: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Keep other processes that hold the file from changing it between reading and writing.

    Raises `InputError` where another one does not let go.
    """
    lock = path.with_name(f"{path.name}.lock")
    _take(path, lock, time.monotonic() + patience)
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _take(path: Path, lock: Path, until: float) -> None:
    while True:
        try:
            lock.touch(exist_ok=False)
        except FileExistsError:
            if time.monotonic() > until:
                raise InputError(
                    f"Baseline {str(path)!r}: {str(lock)!r} is there, so another process is "
                    "changing the file; it must be gone first. Delete it if no other is running."
                ) from None
            time.sleep(_PAUSE)
        except OSError as fault:
            raise InputError(
                f"Baseline {str(path)!r}: it cannot be written ({fault}). Give a path in a folder "
                "that exists and takes files."
            ) from None
        else:
            return

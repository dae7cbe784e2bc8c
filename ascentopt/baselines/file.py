"""One file that several processes may change: whole at any time, and no change lost."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.files import why

PATIENCE = 30.0
"""s to wait for another process, which holds a file for some milliseconds."""

_PAUSE = 0.01


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
        except (OSError, ValueError) as fault:  # a path may hold what no file system takes
            raise InputError(
                f"Baseline: {str(path)!r} cannot be written ({why(fault)}); it must be a file in a "
                "folder that exists and may be written to. Give another path, or make the folder."
            ) from None
        else:
            return

"""Warnings of what is possible and mostly a slip."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import FrameType

from ascentopt.errors import UnusualInputWarning
from ascentopt.telling import told

_PACKAGE = str(Path(__file__).parents[1])
_REPLACE = replace.__code__.co_filename


def unusual(
    owner: str, name: str, value: object, unit: str, usual: str, slip: str, *, when: bool
) -> None:
    """Warn where it is, once for a description: not again of one that the library changes.

    Args:
        owner, name, value, unit: as in `ascentopt.validation.require`.
        usual: what is usual, behind "usual is".
        slip: the likely slip, and what to write then.
        when: whether it is unusual.
    """
    if not when or _changed_by_library():
        return
    shown = f"{told(value)} {unit}".rstrip()
    warnings.warn(
        f"{owner}: {name} is {shown}; usual is {usual}. {slip}",
        UnusualInputWarning,
        stacklevel=levels_to_user(),
    )


def _changed_by_library() -> bool:
    """Whether a description is being made by `dataclasses.replace` from within the library."""
    maker = _first_beyond(sys._getframe(1), _is_ours)  # noqa: SLF001
    if maker is None or maker.f_code.co_filename != _REPLACE:
        return False
    asker = _first_beyond(maker, lambda frame: frame.f_code.co_filename == _REPLACE)
    return asker is not None and _is_ours(asker)


def levels_to_user() -> int:
    """Frames from whoever warns out to the first that is none of ours."""
    frame: FrameType | None = sys._getframe(1)  # noqa: SLF001
    levels = 1
    while frame is not None and (_is_ours(frame) or frame.f_code.co_filename == _REPLACE):
        frame, levels = frame.f_back, levels + 1
    return levels


def _first_beyond(frame: FrameType | None, passed: Callable[[FrameType], bool]) -> FrameType | None:
    while frame is not None and passed(frame):
        frame = frame.f_back
    return frame


def _is_ours(frame: FrameType) -> bool:
    """Of this package, or a constructor that `dataclass` wrote for it."""
    code = frame.f_code
    written = code.co_filename == "<string>" and code.co_name == "__init__"
    return written or code.co_filename.startswith(_PACKAGE)

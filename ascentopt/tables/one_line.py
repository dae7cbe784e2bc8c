"""A `repr` that fits a line: what a result is, not all that it holds."""

from __future__ import annotations

from dataclasses import MISSING, Field, fields, is_dataclass
from enum import Enum
from typing import Any

import numpy as np

WIDTH = 110
"""Characters: a terminal's line, and a prompt before it."""

_FEW = 4
"""Entries of a list that are shown; of more only their number is."""


def one_line(owner: object, *parts: object) -> str:
    """Name of the class, with what tells one of its objects from others in brackets.

    Line ends, which a user's names may hold, become spaces; what is too long is cut.
    """
    return _cut(f"{type(owner).__name__}({', '.join(map(str, parts))})")


def in_a_line(owner: Any) -> str:
    """The fields of a dataclass that differ from their defaults, long ones shortened.

    Where nothing had to be shortened it is Python that makes the object again.
    """
    values = ((one, getattr(owner, one.name)) for one in fields(owner))
    return one_line(owner, *(f"{one.name}={_short(x)}" for one, x in values if _tells(one, x)))


def _tells(one: Field[Any], value: Any) -> bool:
    """Whether a field does not stand at its default."""
    if not one.repr:
        return False
    default = one.default if one.default_factory is MISSING else one.default_factory()
    return default is MISSING or isinstance(value, np.ndarray) or bool(value != default)


def _short(value: Any) -> str:
    if isinstance(value, np.ndarray):
        return f"<{' x '.join(map(str, value.shape))} numbers>"
    if isinstance(value, tuple | list) and len(value) > _FEW:
        return f"<{len(value)} entries>"
    if isinstance(value, tuple | list):
        inner = ", ".join(map(_short, value))
        return f"({inner}{',' if len(value) == 1 else ''})"
    if isinstance(value, Enum):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return repr(value)
    return repr(value.item() if isinstance(value, np.generic) else value)


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= WIDTH else text[: WIDTH - 2] + "…)"

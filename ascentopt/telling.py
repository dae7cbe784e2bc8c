"""Words of errors: a value, short, on one line, whatever its own `__repr__` does; a near name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import is_dataclass
from difflib import get_close_matches
from numbers import Real

import numpy as np

_LONGEST = 80
"""Characters: an error of one line still shows its rule and its fix."""

_UNWRITTEN = 10**4000
"""Python itself refuses to write out little more than that."""


def told(value: object) -> str:
    """What a reader recognises the value by."""
    if isinstance(value, type):
        return f"the class {value.__name__}"
    if isinstance(value, Real) and not isinstance(value, bool | int):
        return repr(float(value))
    if isinstance(value, int) and abs(value) >= _UNWRITTEN:
        return "a whole number of thousands of digits"
    if is_dataclass(value) or _large(value):
        return f"{_with_article(type(value).__name__)}{_called(value)}"
    return _shortened(value)


def nearest(word: str, known: Iterable[str], *, alike: float = 0.6) -> str | None:
    """The known word that another one may stand for; None where none is so much ``alike`` it."""
    return next(iter(get_close_matches(word, list(known), n=1, cutoff=alike)), None)


def meant(word: str, known: Iterable[str], otherwise: str) -> str:
    """The fix of a word that is not known: the nearest one, or what to do where none is near."""
    found = nearest(word, known)
    return otherwise if found is None else f"Did you mean {found!r}?"


def _large(value: object) -> bool:
    """An array, or a sequence, whose text would be long to make."""
    if isinstance(value, np.ndarray):
        return value.size > 8
    return isinstance(value, list | tuple | str | bytes | dict) and len(value) > 10 * _LONGEST


def _called(value: object) -> str:
    name = getattr(value, "__dict__", {}).get("name")
    if isinstance(name, str) and name:
        return f" {name[:_LONGEST]!r}"
    if isinstance(value, np.ndarray):
        return f" of shape {value.shape}"
    return f" of {len(value)}" if isinstance(value, list | tuple | str | bytes | dict) else ""


def _shortened(value: object) -> str:
    try:
        text = " ".join(repr(value).split())
    except Exception:  # noqa: BLE001 - whatever a user's own __repr__ raises
        text = object.__repr__(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}..."


def _with_article(name: str) -> str:
    return f"{'an' if name[:1] in 'AEIOU' else 'a'} {name}"


def a(kind: type) -> str:
    """The name of a class with its article."""
    return _with_article(kind.__name__)

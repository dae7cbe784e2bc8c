"""Objects compared by what they hold: numbers to the last bit, nan like nan, arrays by entry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

Difference = tuple[str, object, object]
"""Where two objects differ, as `stages[0].dry_mass`, and what each has there."""


def same_content(one: object, other: object) -> bool:
    """Whether two objects of one class hold the same."""
    return next(differences(one, other), None) is None


def differences(one: object, other: object, path: str = "") -> Iterator[Difference]:
    """Every place where two objects hold something else."""
    if one is other or _alike(one, other):
        return
    if _is_record(one) and type(one) is type(other):
        for field in fields(one):  # type: ignore[arg-type]
            if field.compare:
                below = f"{path}.{field.name}".lstrip(".")
                yield from differences(getattr(one, field.name), getattr(other, field.name), below)
    elif isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for index, (left, right) in enumerate(zip(one, other, strict=True)):
            yield from differences(left, right, f"{path}[{index}]")
    else:
        yield path, one, other


def content_hash(record: Any) -> int:
    """Of the texts and numbers that an object holds itself: equal content has an equal hash."""
    own = (getattr(record, field.name) for field in fields(record) if field.compare)
    return hash((type(record), *(value for value in own if _hashes_alike(value))))


def _is_record(value: object) -> bool:
    return is_dataclass(value) and not isinstance(value, type)


def _hashes_alike(value: object) -> bool:
    """Of nan each has a hash of its own."""
    return isinstance(value, str | int | float) and value == value  # noqa: PLR0124


def _alike(one: object, other: object) -> bool:
    """Whether two values that are no records and no rows of them are the same."""
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other, equal_nan=one.dtype.kind == other.dtype.kind == "f")
    if isinstance(one, np.ndarray | tuple) or _is_record(one):
        return False
    if isinstance(one, float) and isinstance(other, float) and one != one and other != other:  # noqa: PLR0124
        return True
    return bool(one == other)

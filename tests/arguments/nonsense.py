"""Values that cannot be right for an annotation, told without the library's own checks."""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import isfinite
from numbers import Real
from types import NoneType, UnionType
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.typing import Value


class Unprintable:
    """Something whose own text fails."""

    def __repr__(self) -> str:
        raise RuntimeError("no text")


def pool() -> list[Any]:
    """Nonsense of all kinds, and right values of other arguments."""
    scenario = next(iter(ao.scenarios().values()))
    return [
        None, "", "text", "1150 kN", "3.0", b"3", True, float("nan"), float("inf"), -float("inf"),
        1j, 10**400, -(10**400), 2.5, [], (), {}, set(), {1.0, 2.0}, [1.0], ["a"], [None],
        [1.0, float("nan")], [[1.0, 2.0], [3.0, 4.0]], np.array([1.0, 2.0]), np.array([[1.0]]),
        np.array(["a"]), np.array([1j]), np.array(3.0), np.float32("nan"), object(), object,
        int, ao.KickRule, ao.KickRule(), ao.Vehicle, ao.Circularise, ao.Effort, scenario,
        scenario.vehicle, scenario.mission, ao.earth(), ao.earth, Unprintable(), len,
        lambda *given: None, range(3), (ao.KickRule,), [scenario.vehicle], 3, -1,
        ao.Against.TIME, ao.Against,
    ]  # fmt: skip


def allowed(hint: Any, value: Any, *, finite: bool) -> bool:
    """Whether an annotation lets a value be, by itself; what nobody can tell is let be."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, UnionType):
        return any(allowed(one, value, finite=finite) for one in inner)
    if origin in (tuple, list, Sequence, Iterable):
        return _row_allowed(origin, inner, value, finite=finite)
    plain = _plain(hint, value, finite=finite)
    if plain is not None:
        return plain
    if origin is Callable:
        return callable(value)
    if origin is type:
        return isinstance(value, type) and issubclass(value, inner[0])
    bare = isinstance(hint, type) and not getattr(hint, "_is_protocol", False)
    return isinstance(value, hint) if bare and origin is None else True


def _plain(hint: Any, value: Any, *, finite: bool) -> bool | None:
    """Of an annotation without parts; None for any other."""
    if hint is Value:
        return value is not None and np.asarray(value).dtype.kind in "iuf"
    if hint is None or hint is NoneType:
        return value is None
    if hint is float:
        return _is_number(value, finite=finite)
    if hint is int:
        return isinstance(value, int | np.integer) and not isinstance(value, bool)
    return isinstance(value, bool | np.bool_) if hint is bool else None


def _is_number(value: Any, *, finite: bool) -> bool:
    if isinstance(value, bool) or not isinstance(value, Real):
        return False
    try:
        return isfinite(value) or not finite
    except OverflowError:
        return False


def _row_allowed(origin: Any, inner: tuple[Any, ...], value: Any, *, finite: bool) -> bool:
    if isinstance(value, np.ndarray):
        value = value.tolist() if value.ndim == 1 else None
    if not isinstance(value, list | tuple | range):
        return False
    items = list(value)
    if origin is tuple and inner[-1:] != (...,):
        pairs = zip(inner, items, strict=False)
        return len(items) == len(inner) and all(
            allowed(one, item, finite=finite) for one, item in pairs
        )
    return all(allowed(inner[0], item, finite=finite) for item in items)


def wrong_for(hint: Any, *, finite: bool) -> Iterator[Any]:
    """What of the pool cannot be right."""
    yield from (value for value in pool() if not allowed(hint, value, finite=finite))

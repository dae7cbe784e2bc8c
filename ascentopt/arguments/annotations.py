"""Kinds from annotations."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin

from ascentopt.arguments.kinds import (
    Anything,
    Callables,
    Either,
    Flag,
    Formula,
    Instance,
    Items,
    Kind,
    Nothing,
    Number,
    Row,
    Subclass,
    Text,
    Whole,
)
from ascentopt.typing import Value

_PLAIN: dict[Any, Kind] = {
    int: Whole(),
    bool: Flag(),
    str: Text(),
    None: Nothing(),
    NoneType: Nothing(),
    object: Anything(),
    Any: Anything(),
    Value: Formula(),
}

_ROWS = frozenset({tuple, list, Sequence, Iterable})


def kind_of(annotation: Any, *, finite: bool) -> Kind:
    """What fits an annotation; anything where it is none that can be looked at.

    Args:
        annotation: evaluated.
        finite: whether its floats must be finite.
    """
    if annotation is float:
        return Number(finite)
    plain = _PLAIN.get(annotation) if _hashable(annotation) else None
    if plain is not None:
        return plain
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is not None:
        return _of_generic(origin, inner, finite=finite)
    if not isinstance(annotation, type) or getattr(annotation, "_is_protocol", False):
        return Anything()
    return Instance(annotation)


def _of_generic(origin: Any, inner: tuple[Any, ...], *, finite: bool) -> Kind:
    if origin in (Union, UnionType):
        return Either(tuple(kind_of(one, finite=finite) for one in inner))
    if origin is type and isinstance(inner[0], type):
        return Subclass(inner[0])
    if origin is Callable:
        return Callables()
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return Instance(origin)
    if origin is tuple and inner[-1:] != (...,):
        return Items(tuple(kind_of(one, finite=finite) for one in inner))
    return Row(kind_of(inner[0], finite=finite)) if origin in _ROWS else Anything()


def _hashable(annotation: Any) -> bool:
    return getattr(type(annotation), "__hash__", None) is not None

"""Objects from JSON values, every one of them validated anew."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import MISSING, fields
from enum import Enum
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from ascentopt.arguments import told
from ascentopt.errors import InputError, UnusualInputWarning
from ascentopt.persistence.annotated import check_fields
from ascentopt.persistence.checksum import KEY
from ascentopt.persistence.encoding import SPECIAL
from ascentopt.persistence.given import Given
from ascentopt.persistence.names import PACKAGE, by_present_names, find_ours
from ascentopt.persistence.not_given import NotGiven
from ascentopt.typing import Floats

Kind = TypeVar("Kind")

_HEAD = frozenset({"form", "version", "library", KEY})
"""What a file says of itself, beside the fields of a result."""

_FIX = "Give a file that this version saved."

_FAULTS = (
    ArithmeticError, AttributeError, ImportError, LookupError, MemoryError, RecursionError,
    RuntimeWarning, TypeError, ValueError,
)  # fmt: skip
"""What comes of making an object of values that no object was saved as."""


def decode(data: Any, given: Given | None = None) -> Any:
    """What `encode` was given; lists come back as tuples, and every object is validated anew.

    Args:
        data: JSON values.
        given: classes and objects of a user's own that they may hold; what else they name of a
            user's comes back as `NotGiven`. None = they hold nothing but our own.

    Raises:
        InputError: for anything that `encode` cannot have written.
    """
    try:
        return _decoded(data, given)
    except _FAULTS as fault:
        if isinstance(fault, InputError):
            raise
        why = f"{type(fault).__name__}: {told(str(fault))}"
        raise InputError(
            f"persistence: {told(data)} is no saved object ({why}). {_FIX}"
        ) from fault


def result_of(
    kind: type[Kind], data: Mapping[str, Any], path: str | Path, given: Given | None = None
) -> Kind:
    """The result whose fields a file holds beside its form; fields with defaults may be missing.

    Raises:
        InputError: naming the file and what is wrong with it.
    """
    own = {name: value for name, value in by_present_names(kind, data).items() if name not in _HEAD}
    with told_as_damage(f"{kind.__name__}.load: {str(path)!r}"), warnings.catch_warnings():
        # Whoever described it was warned then. What overflows was never saved.
        warnings.simplefilter("ignore", UnusualInputWarning)
        warnings.simplefilter("error", RuntimeWarning)
        _check_names(kind, own)
        return kind(**{name: decode(value, given) for name, value in own.items()})


@contextmanager
def told_as_damage(what: str) -> Iterator[None]:
    """Whatever is wrong with data that are read within is told as an `InputError` of theirs."""
    try:
        yield
    except _FAULTS as fault:
        says = str(fault) if isinstance(fault, InputError) else f"{type(fault).__name__}: {fault}"
        raise InputError(
            f"{what} is damaged. {says.removesuffix(_FIX).rstrip()} Take the file as it was saved, "
            "or solve again."
        ) from fault


def _decoded(data: Any, given: Given | None) -> Any:
    if isinstance(data, list):
        return tuple(_decoded(entry, given) for entry in data)
    if not isinstance(data, Mapping):
        return data
    if given is not None and (found := given.object_like(data)) is not None:
        return found
    return _made(data, given) if "type" in data else _simple(data, given)


def _simple(data: Mapping[str, Any], given: Given | None) -> Any:
    """Anything but an object."""
    for form in ("function", "opaque"):
        if given is not None and form in data:
            return NotGiven(str(data[form]), data)
    if "number" in data:
        return SPECIAL[data["number"]]
    if "array" in data:
        return _array(_decoded(data["array"], given), data["shape"])
    if given is not None and not data["enum"].startswith(PACKAGE):
        return NotGiven(data["enum"], data)
    return find_ours(data["enum"], Enum)[data["member"]]


def _made(data: Mapping[str, Any], given: Given | None) -> Any:
    """An object of a class of ours, or of one that was given."""
    kind = None if given is None else given.class_named(data["type"])
    if kind is None and given is not None and not data["type"].startswith(PACKAGE):
        return NotGiven(data["type"], data)
    kind = kind or find_ours(data["type"], None)
    own = {name: _decoded(value, given) for name, value in data["fields"].items()}
    own = by_present_names(kind, own)
    check_fields(kind, own, _FIX)
    return kind(**own)


def _array(values: tuple[Any, ...], shape: list[Any]) -> Floats:
    """Of numbers, none of them a text, in exactly that shape."""
    sizes = all(type(size) is int and size >= 0 for size in shape)
    if not sizes or not all(type(value) in {int, float} for value in values):
        raise TypeError(f"an array of shape {shape} holds numbers and nothing else")
    return np.array(values, dtype=np.float64).reshape(shape)


def _check_names(kind: type, own: Mapping[str, Any]) -> None:
    """Refuse fields that there are not, and such without which there is nothing."""
    known = {field.name: field for field in fields(kind)}
    extra = [name for name in own if name not in known]
    bare = [
        name
        for name, field in known.items()
        if field.default is MISSING and field.default_factory is MISSING
    ]
    missing = [name for name in bare if name not in own]
    for what, names in (("lacks", missing), ("has what it should not have:", extra)):
        if names:
            raise InputError(f"It {what} {', '.join(name[:40] for name in names[:20])}.")

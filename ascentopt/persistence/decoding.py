"""Objects from JSON values, every one of them validated anew."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.persistence.encoding import SPECIAL
from ascentopt.persistence.given import Given
from ascentopt.persistence.names import PACKAGE, by_present_names, find_ours
from ascentopt.persistence.not_given import NotGiven


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
    except (KeyError, TypeError, AttributeError, ImportError, ValueError) as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(
            f"persistence: {_shortened(data)} is no saved object "
            f"({type(fault).__name__}: {fault}). Give a file that this version saved."
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
        values = np.array(_decoded(data["array"], given), dtype=np.float64)
        return values.reshape(data["shape"])
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
    return kind(**by_present_names(kind, own))


def _shortened(data: Any) -> str:
    text = repr(data)
    return text if len(text) < 80 else text[:77] + "..."

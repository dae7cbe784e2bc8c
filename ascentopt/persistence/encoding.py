"""Frozen objects as JSON values, to the last bit."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from math import inf, isfinite, isnan, nan
from types import FunctionType
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.persistence.names import PACKAGE, import_path
from ascentopt.persistence.not_given import NotGiven

SPECIAL = {"inf": inf, "-inf": -inf, "nan": nan}


def encode(value: object) -> Any:
    """Numbers, texts, tuples, arrays, enums and frozen dataclasses as JSON values.

    Raises `InputError` for an object of ours that is nothing of that.
    """
    if isinstance(value, NotGiven):
        return value.saved
    if isinstance(value, Enum):
        return {"enum": import_path(type(value)), "member": value.name}
    if is_dataclass(value) and not isinstance(value, type):
        own = {field.name: encode(getattr(value, field.name)) for field in fields(value)}
        return {"type": import_path(type(value)), "fields": own}
    if isinstance(value, np.ndarray):
        return {"array": encode(value.ravel().tolist()), "shape": list(value.shape)}
    if isinstance(value, tuple | list):
        return [encode(entry) for entry in value]
    return _plain(value)


def _plain(value: object) -> Any:
    if isinstance(value, float) and not isfinite(value):
        return {"number": "nan" if isnan(value) else repr(float(value))}
    if isinstance(value, np.integer):
        return int(value)
    if value is None or isinstance(value, bool | int | float | str):
        return value
    return _users(value)


def _users(value: object) -> Any:
    """Of a class or function that is not ours."""
    name = import_path(value if isinstance(value, FunctionType) else type(value))
    if name.startswith((PACKAGE, "builtins:", "numpy:")):
        raise InputError(f"persistence: {value!r} cannot be saved. Report this as a defect.")
    if isinstance(value, FunctionType):
        return {"function": name}
    return {"opaque": name} if getattr(value, "__dict__", None) else {"type": name, "fields": {}}

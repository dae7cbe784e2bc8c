"""Frozen objects as JSON and back, to the last bit."""

from __future__ import annotations

import importlib
import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from math import inf, isfinite, isnan, nan
from pathlib import Path
from typing import Any

import numpy as np

from ascentopt.errors import InputError

_PACKAGE = "ascentopt."
_SPECIAL = {"inf": inf, "-inf": -inf, "nan": nan}


def encode(value: object) -> Any:
    """Numbers, texts, tuples, arrays, enums and our own dataclasses as JSON values."""
    if isinstance(value, Enum):
        return {"enum": _name(type(value)), "member": value.name}
    if is_dataclass(value) and not isinstance(value, type):
        own = {field.name: encode(getattr(value, field.name)) for field in fields(value)}
        return {"type": _name(type(value)), "fields": own}
    if isinstance(value, np.ndarray):
        return {"array": encode(value.ravel().tolist()), "shape": list(value.shape)}
    if isinstance(value, tuple | list):
        return [encode(entry) for entry in value]
    if isinstance(value, float) and not isfinite(value):
        return {"number": "nan" if isnan(value) else repr(value)}
    if value is None or isinstance(value, bool | int | float | str):
        return value
    raise InputError(f"persistence: {value!r} cannot be saved. Report this as a defect.")


def decode(data: Any) -> Any:
    """What `encode` was given; lists come back as tuples, and every object is validated anew."""
    if isinstance(data, list):
        return tuple(decode(entry) for entry in data)
    if not isinstance(data, Mapping):
        return data
    if "number" in data:
        return _SPECIAL[data["number"]]
    if "array" in data:
        return np.array(decode(data["array"]), dtype=np.float64).reshape(data["shape"])
    if "enum" in data:
        return _find(data["enum"])[data["member"]]
    own = {name: decode(value) for name, value in data["fields"].items()}
    return _find(data["type"])(**own)


def write(path: str | Path, data: Mapping[str, Any]) -> None:
    """Write JSON in one go, so that an interrupted save leaves the old file whole."""
    target = Path(path)
    beside = target.with_name(target.name + ".part")
    beside.write_text(json.dumps(data, allow_nan=False), encoding="utf-8")
    beside.replace(target)


def read(path: str | Path) -> dict[str, Any]:
    """Read JSON. Raises `InputError` when the file holds none."""
    try:
        found = json.loads(Path(path).read_text(encoding="utf-8"))
    except json.JSONDecodeError as fault:
        raise InputError(
            f"{str(path)!r} is not JSON ({fault}). Give a file that was saved."
        ) from None
    if not isinstance(found, dict):
        raise InputError(f"{str(path)!r} holds no saved object. Give a file that was saved.")
    return found


def _name(kind: type) -> str:
    return f"{kind.__module__}:{kind.__qualname__}"


def _find(name: str) -> Any:
    """A class of this package; anything else in a file is refused."""
    module, _, qualified = name.partition(":")
    if not module.startswith(_PACKAGE):
        raise InputError(f"persistence: {name!r} is not a class of this package. Refused.")
    return getattr(importlib.import_module(module), qualified)

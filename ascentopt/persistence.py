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

# Where modules and classes went whose names stand in files that were saved before they moved, and
# what classes are called now that had another name.
_MOVED = {
    "flight.budget": "flight.results.budget",
    "flight.ending": "flight.guidance.ending",
    "flight.events": "flight.results.events",
    "flight.exceeded": "flight.results.excess",
    "flight.orbiting": "flight.orbit.orbiting",
    "flight.results.limit_check:Excess": "flight.results.excess",
    "flight.simulate": "flight.results.flight",
    "flight.trajectory": "flight.results.trajectory",
    "optimal.ascent": "optimal.result.ascent",
    "optimal.candidate": "optimal.attempt",
    "optimal.certificate": "optimal.result.certificate",
    "optimal.prices:NoPrice": "optimal.result.partials:NoPartial",
    "optimal.prices:Price": "optimal.result.partials:Partial",
    "optimal.prices:Prices": "optimal.result.partials:Partials",
    "optimal.result.prices:NoPrice": "optimal.result.partials:NoPartial",
    "optimal.result.prices:Price": "optimal.result.partials:Partial",
    "optimal.result.prices:Prices": "optimal.result.partials:Partials",
    "rules.parameter": "rules.laws.parameter",
    "studies.comparison": "studies.comparison.comparison",
    "studies.cost_map": "studies.maps.cost_map",
    "studies.cost_map:Axis": "studies.maps.axis",
    "studies.outcome": "studies.comparison.outcome",
    "studies.simpler": "studies.simplify.simpler",
    "studies.way_home": "studies.deorbit.way_home",
}

# Fields that had another name in files saved before, by the class as it is called now.
_RENAMED_FIELDS = {"optimal.result.ascent:Ascent": {"prices": "partials"}}


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
        return {"number": "nan" if isnan(value) else repr(float(value))}
    if isinstance(value, np.integer):
        value = int(value)
    if value is None or isinstance(value, bool | int | float | str):
        return value
    raise InputError(f"persistence: {value!r} cannot be saved. Report this as a defect.")


def decode(data: Any) -> Any:
    """What `encode` was given; lists come back as tuples, and every object is validated anew.

    Raises `InputError` for anything that `encode` cannot have written.
    """
    try:
        return _decoded(data)
    except (KeyError, TypeError, AttributeError, ImportError, ValueError) as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(
            f"persistence: {_shortened(data)} is no saved object "
            f"({type(fault).__name__}: {fault}). Give a file that this version saved."
        ) from fault


def _decoded(data: Any) -> Any:
    if isinstance(data, list):
        return tuple(_decoded(entry) for entry in data)
    if not isinstance(data, Mapping):
        return data
    if "number" in data:
        return _SPECIAL[data["number"]]
    if "array" in data:
        return np.array(_decoded(data["array"]), dtype=np.float64).reshape(data["shape"])
    if "enum" in data:
        return _find(data["enum"], Enum)[data["member"]]
    kind = _find(data["type"], None)
    own = {name: _decoded(value) for name, value in data["fields"].items()}
    return kind(**by_present_names(kind, own))


def by_present_names(kind: type, own: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a class by the names that they have now; others as they are."""
    renamed = _RENAMED_FIELDS.get(_name(kind).removeprefix(_PACKAGE), {})
    return {renamed.get(name, name): value for name, value in own.items()}


def _shortened(data: Any) -> str:
    text = repr(data)
    return text if len(text) < 80 else text[:77] + "..."


def save(path: str | Path, form: str, version: int, value: Any) -> None:
    """Write the fields of a result under the name of its form."""
    own = {one.name: encode(getattr(value, one.name)) for one in fields(value)}
    write(path, {"form": form, "version": version, **own})


def saved(path: str | Path, owner: str, form: str, versions: tuple[int, ...]) -> dict[str, Any]:
    """What a file of this form and one of these versions holds.

    Raises `InputError` for any other file; `owner` is the class that was to be loaded.
    """
    data = read(path)
    found, version = data.get("form"), data.get("version")
    if found != form or version not in versions:
        known = " to ".join(map(str, sorted({versions[0], versions[-1]})))
        what = form.rsplit(maxsplit=1)[-1]
        raise InputError(
            f"{owner}.load: {str(path)!r} is of the form {found!r}, version {version!r}; this "
            f"reads {form!r}, version {known}. Save the {what} again with this version."
        )
    return data


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


def _find(name: str, base: type | None) -> Any:
    """A dataclass (or, with ``base``, an enum) that the named module itself defines.

    A file may come from anywhere: nothing but our own frozen descriptions and results is made from
    it, and no function is ever called by name.
    """
    module, _, qualified = name.partition(":")
    if not module.startswith(_PACKAGE):
        raise InputError(f"persistence: {name!r} is not a class of this package. Refused.")
    own_name, own_module = name.removeprefix(_PACKAGE), module.removeprefix(_PACKAGE)
    place, _, renamed = _MOVED.get(own_name, _MOVED.get(own_module, own_module)).partition(":")
    module, qualified = _PACKAGE + place, renamed or qualified
    found = getattr(importlib.import_module(module), qualified, None)
    own = found if isinstance(found, type) and found.__module__ == module else object
    if is_dataclass(own) if base is None else issubclass(own, base):
        return own
    raise InputError(f"persistence: {name!r} is not a class that is ever saved. Refused.")

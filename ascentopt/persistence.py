"""Frozen objects as JSON and back, to the last bit.

What a user's own class or function holds is saved by its import path. It is never imported from
there: who loads gives the classes and objects that may be made again, and what was not given comes
back as `NotGiven`, which says so when it is used.
"""

from __future__ import annotations

import importlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from math import inf, isfinite, isnan, nan
from pathlib import Path
from types import FunctionType
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
    if isinstance(value, NotGiven):
        return value.saved
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
    return _users(value)


def _users(value: object) -> Any:
    """Of a class or function that is not ours."""
    name = _name(value if isinstance(value, FunctionType) else type(value))
    if name.startswith((_PACKAGE, "builtins:", "numpy:")):
        raise InputError(f"persistence: {value!r} cannot be saved. Report this as a defect.")
    if isinstance(value, FunctionType):
        return {"function": name}
    return {"opaque": name} if getattr(value, "__dict__", None) else {"type": name, "fields": {}}


@dataclass(frozen=True)
class NotGiven:
    """What stands for a user's object whose class or function was not given on loading.

    Anything that is asked of it raises `InputError`.

    Args:
        name: import path of the class or function, as the file tells it.
        saved: what the file holds.
    """

    name: str
    saved: Any

    def __getattr__(self, asked: str) -> Any:
        if asked.startswith("__"):  # copying and pickling ask for what there may not be
            raise AttributeError(asked)
        raise self._missing()

    def __call__(self, *given: object, **named: object) -> Any:
        """Refuse to."""
        raise self._missing()

    def __hash__(self) -> int:
        return hash(self.name)

    def _missing(self) -> InputError:
        fix = f"Load it again with the class: load(path, rules=[{self.name.rpartition(':')[2]}])."
        if "function" in self.saved:
            fix = "Load it again with the rule that has the function: load(path, rules=[rule])."
        if "opaque" in self.saved:
            fix = "It is no frozen dataclass, so its fields were not saved: make it one."
        return InputError(
            f"persistence: this needs {self.name!r}, which the file only names and which was not "
            f"given on loading; nothing is imported because a file says so. {fix}"
        )


class Given:
    """Classes, and objects, of a user's own that a file may hold.

    Args:
        ours: classes, or objects (rules, for instance), whose classes count as given. An object is
            put wherever the file holds one that looks the same, functions by their names.

    Raises:
        InputError: for what is neither, or two objects that a file cannot tell apart.
    """

    def __init__(self, ours: Sequence[object] = ()) -> None:
        self._classes: list[type] = []
        self._objects: list[tuple[Any, object]] = []
        for one in ours:
            if isinstance(one, str | bytes | int | float | None):
                raise InputError(
                    f"persistence: given is {one!r}; it must be a class, or an object of one. Give "
                    "the class itself, not its name."
                )
            if isinstance(one, type):
                self._classes.append(one)
            else:
                self._classes.append(type(one))
                self._add(one)

    def _add(self, one: object) -> None:
        looks = json.loads(json.dumps(encode(one)))
        if any(looks == other for other, _ in self._objects):
            raise InputError(
                f"persistence: two of the given objects look like {one!r} in a file; each must "
                "look different. Give them different names."
            )
        self._objects.append((looks, one))

    def object_like(self, data: Any) -> object | None:
        """The given object that was saved so; None where there is none."""
        return next((one for looks, one in self._objects if _alike(looks, data)), None)

    def class_named(self, name: str) -> type | None:
        """The given class of that import path; None where there is none."""
        return next((one for one in self._classes if _same_name(_name(one), name)), None)


def _alike(looks: Any, data: Any) -> bool:
    if isinstance(looks, dict) and isinstance(data, dict) and looks.keys() == data.keys():
        return all(
            _same_name(looks[key], data[key])
            if key in {"type", "function"} and isinstance(looks[key], str)
            else _alike(looks[key], data[key])
            for key in looks
        )
    if isinstance(looks, list) and isinstance(data, list):
        return len(looks) == len(data) and all(map(_alike, looks, data))
    return bool(looks == data)


def _same_name(one: str, other: str) -> bool:
    """Whether two import paths may be of one class: a script's own module is called __main__."""
    (module, _, name), (module2, _, name2) = one.partition(":"), other.partition(":")
    return name == name2 and (module == module2 or "__main__" in {module, module2})


def decode(data: Any, given: Given | None = None) -> Any:
    """What `encode` was given; lists come back as tuples, and every object is validated anew.

    Raises `InputError` for anything that `encode` cannot have written.
    """
    try:
        return _decoded(data, given or Given())
    except (KeyError, TypeError, AttributeError, ImportError, ValueError) as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(
            f"persistence: {_shortened(data)} is no saved object "
            f"({type(fault).__name__}: {fault}). Give a file that this version saved."
        ) from fault


def _decoded(data: Any, given: Given) -> Any:
    if isinstance(data, list):
        return tuple(_decoded(entry, given) for entry in data)
    if not isinstance(data, Mapping):
        return data
    if (found := given.object_like(data)) is not None:
        return found
    for form in ("function", "opaque"):
        if form in data:
            return NotGiven(str(data[form]), data)
    if "number" in data:
        return _SPECIAL[data["number"]]
    if "array" in data:
        return np.array(_decoded(data["array"], given), dtype=np.float64).reshape(data["shape"])
    if "enum" in data:
        return _find(data["enum"], Enum)[data["member"]]
    kind = given.class_named(data["type"])
    if kind is None:
        if not data["type"].startswith(_PACKAGE):
            return NotGiven(data["type"], data)
        kind = _find(data["type"], None)
    own = {name: _decoded(value, given) for name, value in data["fields"].items()}
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


def _name(kind: type | FunctionType) -> str:
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

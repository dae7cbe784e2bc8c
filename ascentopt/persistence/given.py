"""Classes and objects that a file may hold because whoever loads it gave them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from ascentopt.errors import InputError
from ascentopt.persistence.encoding import encode
from ascentopt.persistence.names import import_path, same_path


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
        return next((one for one in self._classes if same_path(import_path(one), name)), None)


def _alike(looks: Any, data: Any) -> bool:
    if isinstance(looks, dict) and isinstance(data, dict) and looks.keys() == data.keys():
        return all(
            same_path(looks[key], data[key])
            if key in {"type", "function"} and isinstance(looks[key], str)
            else _alike(looks[key], data[key])
            for key in looks
        )
    if isinstance(looks, list) and isinstance(data, list):
        return len(looks) == len(data) and all(map(_alike, looks, data))
    return bool(looks == data)

"""Results as files of JSON with a form and a version."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from ascentopt.errors import InputError
from ascentopt.persistence.encoding import encode


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

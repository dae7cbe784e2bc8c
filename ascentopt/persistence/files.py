"""Results in files of their own: which form, which version, and that a save is whole."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import fields
from math import isfinite
from pathlib import Path
from typing import Any, NoReturn

from ascentopt.arguments import told
from ascentopt.errors import InputError
from ascentopt.files import path_given, why, write_whole
from ascentopt.persistence.checksum import KEY, checksum
from ascentopt.persistence.encoding import encode

_GIVE = "Give a file that was saved."


def save(path: str | Path, form: str, version: int, value: Any) -> None:
    """Write the fields of a result under the name of its form. Raises `InputError` as `write`."""
    write_whole("save", path_given("save", path), saved_text(form, version, value))


def saved_text(form: str, version: int, value: Any) -> str:
    """What `save` writes."""
    own = {one.name: encode(getattr(value, one.name)) for one in fields(value)}
    return _signed({"form": form, "version": version, **own})


def saved(
    path: str | Path,
    owner: str,
    form: str,
    versions: tuple[int, ...],
    *,
    unsigned: tuple[int, ...] = (),
) -> dict[str, Any]:
    """What a file of this form and one of these versions holds.

    Args:
        path: of the file.
        owner: the class that was to be loaded.
        form, versions: what is read.
        unsigned: those of the versions that were saved before files had a checksum.

    Raises:
        InputError: for any other file, and one that is not as it was saved.
    """
    data = read(path)
    found, version = data.get("form"), data.get("version")
    if found != form or isinstance(version, bool) or version not in versions:
        known = " to ".join(map(str, sorted({versions[0], versions[-1]})))
        what = form.rsplit(maxsplit=1)[-1]
        newer = isinstance(version, int) and version > versions[-1] and found == form
        fix = "Read it with a newer one" if newer else f"Save the {what} again with this version"
        if found != form:
            fix = f"Give a file that holds {form!r}"
        raise InputError(
            f"{owner}.load: {str(path)!r} is of the form {told(found)}, version {told(version)}; "
            f"this reads {form!r}, version {known}. {_by(data)}{fix}."
        )
    if KEY in data or version not in unsigned:
        _check_whole(path, owner, data)
    return data


def write(path: str | Path, data: Mapping[str, Any]) -> None:
    """Write JSON in one go, so that an interrupted save leaves the old file whole.

    The checksum and the version of the library are written with it.

    Raises:
        InputError: where nothing can be written.
    """
    write_whole("save", path_given("save", path), _signed(data))


def read(path: str | Path) -> dict[str, Any]:
    """Read JSON. Raises `InputError` when the file cannot be read or holds none."""
    found = _parsed(path, read_text(path))
    if not isinstance(found, dict):
        raise InputError(
            f"{str(path)!r} holds {told(found)}; it must be a saved object. {_GIVE}"
        )
    return found


def read_text(path: str | Path) -> str:
    """A text file whole. Raises `InputError` for anything else."""
    target = path_given("load", path)
    try:
        if target.exists() and not target.is_file():
            what = "a folder" if target.is_dir() else "no regular file"
            raise InputError(f"load: {str(path)!r} is {what}; it must be a saved file. {_GIVE}")
        return target.read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(
            f"load: {str(path)!r} is no text ({fault.reason} at byte {fault.start}); it must be "
            f"JSON. {_GIVE}"
        ) from None
    except (OSError, ValueError) as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(
            f"load: {str(path)!r} cannot be read ({why(fault)}); it must be a file that exists. "
            f"{_GIVE}"
        ) from None


def library() -> str:
    """Version of the package. Its face has it, which is above all rooms."""
    return str(getattr(sys.modules[__name__.partition(".")[0]], "__version__", "unknown"))


def _signed(data: Mapping[str, Any]) -> str:
    """JSON with the version of the library and the checksum."""
    own = {name: value for name, value in data.items() if name not in {KEY, "library"}}
    head: dict[str, Any] = {name: own.pop(name) for name in ("form", "version") if name in own}
    whole: dict[str, Any] = {**head, "library": library(), **own}
    return json.dumps({**whole, KEY: checksum(whole)}, allow_nan=False)


def _check_whole(path: str | Path, owner: str, data: Mapping[str, Any]) -> None:
    """Refuse a file that is not as it was saved."""
    kept, found = data.get(KEY), _checksum_or_none(data)
    if kept == found:
        return
    raise InputError(
        f"{owner}.load: {str(path)!r} has the checksum {told(kept)}; it must be that of what it "
        f"holds, {found}. It is damaged, or was changed since it was saved. {_by(data)}Take the "
        "file as it was saved, or solve again."
    )


def _checksum_or_none(data: Mapping[str, Any]) -> str | None:
    try:
        return checksum(data)
    except (RecursionError, ValueError):
        return None


def _by(data: Mapping[str, Any]) -> str:
    """The version of the library that saved it, where it says so."""
    maker = data.get("library")
    if not isinstance(maker, str):
        return ""
    return f"It was saved by ascentopt {maker[:40]}, this is {library()}. "


def _parsed(path: str | Path, text: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_number, parse_float=_finite)
    except RecursionError:
        raise InputError(
            f"load: {str(path)!r} is nested too deeply; no saved object is. {_GIVE}"
        ) from None
    except ValueError as fault:  # of numbers too, and of whole ones with thousands of digits
        half = " and ends too early" if _cut(fault) else ""
        raise InputError(
            f"load: {str(path)!r} is not JSON{half} ({told(str(fault))}); it must be a saved "
            f"object. {_GIVE}"
        ) from None


def _cut(fault: ValueError) -> bool:
    if not isinstance(fault, json.JSONDecodeError):
        return False
    return fault.pos >= len(fault.doc.rstrip()) or fault.msg.startswith("Unterminated string")


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _finite(digits: str) -> float:
    found = float(digits)
    if not isfinite(found):
        raise ValueError(f"{digits[:20]} is more than a float holds")
    return found

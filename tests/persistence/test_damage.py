"""Saved files, damaged in thousands of ways: the library's errors, or an equal object, at once."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt import persistence
from tests.persistence.kept import KINDS, Kept, kept

AT_ONCE = 1.0
"""s of the processor's time, not of the clock: a machine may be busy with other things."""

MANY = settings(
    max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
THOUSANDS = settings(
    max_examples=1500, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)

JUNK: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from([
        None, True, "", "900", [], {}, [[]], -1, 0, 1, -1.0, 0.5, 1e308, -1e308, 10**400, 2**63,
        {"number": "nan"}, {"number": "-inf"}, {"number": "twelve"}, {"array": [1.0], "shape": [2]},
        {"array": ["x"], "shape": [1]}, {"array": [1.0], "shape": [-1]}, {"array": [], "shape": []},
        {"type": "ascentopt.optimal.result.ascent:Ascent", "fields": {}},
        {"type": "ascentopt.flight.plan:FlightPlan", "fields": {"inserting_stage": 10**9}},
        {"type": "os:system", "fields": {"command": "true"}}, {"type": 3}, {"type": "ascentopt."},
        {"type": "ascentopt.__main__:main", "fields": {}}, {"type": "ascentopt..x:y", "fields": 1},
        {"enum": "ascentopt.optimal.attempt:Standing", "member": "LUCKY"},
        {"function": "tests.rules.own_rules:thing"}, {"opaque": "x:y"},
    ]),
    st.integers(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=5),
)  # fmt: skip


@cache
def whole(name: str) -> str:
    """What a file of that kind holds."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "kept.json"
        kept()[name].save(path)
        return path.read_text(encoding="utf-8")


def outcome(one: Kept, path: Path) -> Any:
    """What is loaded, or the library's own error; anything else, and what takes long, fails."""
    begun = time.process_time()
    found, refusal = loaded_or_refused(one, path)
    assert time.process_time() - begun < AT_ONCE
    if refusal is None:
        return found
    text = str(refusal)
    assert "must be" in text or "damaged" in text or "reads" in text
    assert text.endswith(".")
    return refusal


def loaded_or_refused(one: Kept, path: Path) -> tuple[Any, ao.InputError | None]:
    try:
        return one.load(path), None
    except ao.InputError as refusal:
        return None, refusal


def places(data: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in the data."""
    keys = data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ()
    return [at, *(place for key in keys for place in places(data[key], (*at, key)))]


def put(data: Any, place: tuple[Any, ...], value: Any, *, delete: bool = False) -> Any:
    """A copy with another value in a place, or without it."""
    if not place:
        return value
    copy = dict(data) if isinstance(data, dict) else list(data)
    if len(place) == 1 and delete:
        del copy[place[0]]
    else:
        copy[place[0]] = put(copy[place[0]], place[1:], value, delete=delete)
    return copy


def flip(text: bytes, draw: st.DataObject) -> bytes:
    at = draw.draw(st.integers(0, len(text) - 1))
    by = draw.draw(st.integers(1, 255))
    return text[:at] + bytes([text[at] ^ by]) + text[at + 1 :]


def cut(text: bytes, draw: st.DataObject) -> bytes:
    return text[: draw.draw(st.integers(0, len(text) - 1))]


def lose(text: bytes, draw: st.DataObject) -> bytes:
    at = draw.draw(st.integers(0, len(text) - 1))
    return text[:at] + text[at + draw.draw(st.integers(1, 200)) :]


def double(text: bytes, draw: st.DataObject) -> bytes:
    at, size = draw.draw(st.integers(0, len(text) - 1)), draw.draw(st.integers(1, 200))
    return text[: at + size] + text[at:]


BYTES = (flip, cut, lose, double)


def bytes_damaged(
    name: str, damage: Callable[[bytes, st.DataObject], bytes], tmp_path: Path, draw: st.DataObject
) -> None:
    one, path = kept()[name], tmp_path / "kept.json"
    text = whole(name).encode("utf-8")
    path.write_bytes(damage(text, draw))
    found = outcome(one, path)
    assert isinstance(found, ao.InputError) or found == one.result


def values_damaged(name: str, tmp_path: Path, draw: st.DataObject, *, signed: bool) -> None:
    """A value replaced or removed somewhere; with ``signed`` the checksum is made to fit."""
    one, path = kept()[name], tmp_path / "kept.json"
    data = json.loads(whole(name))
    place = draw.draw(st.sampled_from(places(data)[1:]))
    delete = draw.draw(st.booleans())
    other = put(data, place, None if delete else draw.draw(JUNK), delete=delete)
    assume(json.dumps(other, sort_keys=True) != json.dumps(data, sort_keys=True))
    if signed:
        persistence.write(path, other)
    else:
        path.write_text(json.dumps(other), encoding="utf-8")
    found = outcome(one, path)
    if not signed:
        assert isinstance(found, ao.InputError)


@pytest.mark.parametrize("name", KINDS)
@MANY
@given(draw=st.data(), damage=st.sampled_from(BYTES))
def test_damaged_bytes(
    name: str,
    damage: Callable[[bytes, st.DataObject], bytes],
    tmp_path: Path,
    draw: st.DataObject,
) -> None:
    bytes_damaged(name, damage, tmp_path, draw)


@pytest.mark.parametrize("name", KINDS)
@MANY
@given(draw=st.data())
def test_changed_values_are_found_by_the_checksum(
    name: str, tmp_path: Path, draw: st.DataObject
) -> None:
    values_damaged(name, tmp_path, draw, signed=False)


@pytest.mark.parametrize("name", KINDS)
@MANY
@given(draw=st.data())
def test_changed_values_with_a_fitting_checksum_make_no_nonsense(
    name: str, tmp_path: Path, draw: st.DataObject
) -> None:
    values_damaged(name, tmp_path, draw, signed=True)


@pytest.mark.slow
@pytest.mark.parametrize("name", KINDS)
@THOUSANDS
@given(draw=st.data(), damage=st.sampled_from(BYTES))
def test_thousands_of_damaged_bytes(
    name: str,
    damage: Callable[[bytes, st.DataObject], bytes],
    tmp_path: Path,
    draw: st.DataObject,
) -> None:
    bytes_damaged(name, damage, tmp_path, draw)


@pytest.mark.slow
@pytest.mark.parametrize("name", KINDS)
@THOUSANDS
@given(draw=st.data(), signed=st.booleans())
def test_thousands_of_changed_values(
    name: str, tmp_path: Path, draw: st.DataObject, *, signed: bool
) -> None:
    values_damaged(name, tmp_path, draw, signed=signed)

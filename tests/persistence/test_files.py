"""What is no file of ours, and where none can be: one error each, with path, rule and fix."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Any

import pytest

import ascentopt as ao
from ascentopt import persistence
from tests.persistence.kept import KINDS, kept

FORMS: tuple[Any, ...] = (
    ao.Ascent, ao.Comparison, ao.RuleOutcome, ao.CostMap, ao.SimplerProgramme, ao.Deorbit,
    ao.MaxPayload, ao.Sizing, ao.TabulatedSteering,
)  # fmt: skip

DEEP = 100_000


def refusal(kind: Any, path: object) -> str:
    with pytest.raises(ao.InputError) as found:
        kind.load(path)
    assert str(found.value).endswith(".")
    return str(found.value)


@pytest.mark.parametrize("kind", FORMS)
@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is not JSON and ends too early"),
        (b"no json", "is not JSON"),
        (b"\x00\xff\xfe\x80", "is no text"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "is no text"),
        (b"[1, 2]", "must be a saved object"),
        (b"3", "must be a saved object"),
        (b"null", "must be a saved object"),
        (b"{}", "is of the form None"),
        (b'{"form": {}, "version": []}', "is of the form {}"),
        (b'{"form": "ascent", "version": 1e999}', "more than a float holds"),
        (b'{"form": "ascent", "version": NaN}', "NaN is no number"),
        (b'{"form": "ascent", "version": -Infinity}', "-Infinity is no number"),
        (b'{"form": "ascent", "version": ' + b"9" * 9000 + b"}", "is not JSON"),
        (b'{"a": ' * DEEP + b"1" + b"}" * DEEP, "nested too deeply"),
        (b"[" * DEEP, "nested too deeply"),
    ],
    ids=range(15),
)
def test_what_is_no_file_of_ours(kind: Any, content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "file.json"
    path.write_bytes(content)
    text = refusal(kind, path)
    assert told in text
    assert str(path) in text


@pytest.mark.parametrize("kind", FORMS)
def test_what_cannot_be_read_at_all(kind: Any, tmp_path: Path) -> None:
    assert "cannot be read (No such file" in refusal(kind, tmp_path / "missing.json")
    assert "is a folder" in refusal(kind, tmp_path)
    assert "cannot be read" in refusal(kind, tmp_path / ("x" * 5000))
    assert "cannot be read" in refusal(kind, tmp_path / "a\0b")
    for odd in (None, 3, b"bytes", ""):
        assert "path is " in refusal(kind, odd)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes by name")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "no regular file" in refusal(ao.Ascent, tmp_path / "pipe")


@pytest.mark.parametrize("name", KINDS)
def test_what_cannot_be_written(name: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    for path, told in (
        (tmp_path, "is a folder"),
        (tmp_path / "missing" / "a.json", "cannot be written (No such file"),
        (tmp_path / "file" / "a.json", "cannot be written"),
        (tmp_path / "a\0b", "cannot be written"),
        (None, "path is None"),
    ):
        with pytest.raises(ao.InputError, match="save") as found:
            kept()[name].result.save(path)
        assert told in str(found.value)
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="whoever runs it may write anywhere"
)
def test_a_folder_that_may_not_be_written_to(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(ao.InputError, match="Permission denied"):
        kept()["ascent"].result.save(tmp_path / "a.json")
    tmp_path.chmod(0o700)


def test_a_save_that_fails_leaves_the_old_file_whole(tmp_path: Path) -> None:
    path = tmp_path / "map.json"
    kept()["map"].result.save(path)
    before = path.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "replace", _full)
        with pytest.raises(ao.InputError, match="No space left"):
            kept()["map"].result.save(path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def _full(*given: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("name", KINDS)
def test_a_loaded_result_equals_the_saved_one(name: str, tmp_path: Path) -> None:
    one, path = kept()[name], tmp_path / "kept.json"
    one.save(path)
    again = one.load(path)
    assert again == one.result
    assert hash(again) == hash(one.result)
    again.save(tmp_path / "again.json")
    assert (tmp_path / "again.json").read_bytes() == path.read_bytes()
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["library"] == ao.__version__
    assert data["checksum"] == persistence.checksum(data)


@pytest.mark.parametrize("name", KINDS)
def test_another_layout_of_the_same_is_the_same(name: str, tmp_path: Path) -> None:
    one, path = kept()[name], tmp_path / "kept.json"
    one.save(path)
    data = json.loads(path.read_text(encoding="utf-8"))
    turned = dict(reversed(data.items()))
    path.write_text(json.dumps(turned, indent=3), encoding="utf-8")
    assert one.load(path) == one.result


@pytest.mark.parametrize("name", KINDS)
def test_kinds_and_versions_are_told(name: str, tmp_path: Path) -> None:
    one, path = kept()[name], tmp_path / "kept.json"
    one.save(path)
    data = json.loads(path.read_text(encoding="utf-8"))
    other = next(kind for kind in FORMS if not isinstance(one.result, kind))
    assert f"is of the form {data['form']!r}" in refusal(other, path)
    for version in (99, 0, -1, "1", None, True, 1.5):
        persistence.write(path, data | {"version": version})
        assert "version" in refusal(type(one.result), path)
    persistence.write(path, data | {"version": 99})
    text = refusal(type(one.result), path)
    assert "Read it with a newer one" in text
    assert f"saved by ascentopt {ao.__version__}" in text
    assert "must be" in refusal(type(one.result), tmp_path / "none.json")


def test_a_checksum_that_does_not_fit_names_both_versions(tmp_path: Path) -> None:
    path = tmp_path / "ascent.json"
    kept()["ascent"].result.save(path)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"library": "', '"library": "7.'), encoding="utf-8")
    told = refusal(ao.Ascent, path)
    assert "it must be that of what it holds" in told
    assert f"saved by ascentopt 7.{ao.__version__}, this is {ao.__version__}" in told


def test_a_result_of_today_without_its_checksum_is_damaged(tmp_path: Path) -> None:
    path = tmp_path / "ascent.json"
    kept()["ascent"].result.save(path)
    data = json.loads(path.read_text(encoding="utf-8"))
    del data["checksum"]
    path.write_text(json.dumps(data), encoding="utf-8")
    assert "has the checksum None" in refusal(ao.Ascent, path)


@pytest.mark.parametrize(
    ("name", "version"),
    [("ascent", 2), ("ascent", 3), ("comparison", 1), ("map", 1), ("map", 2), ("programme", 1),
     ("table", 1)],
)  # fmt: skip
def test_files_from_before_checksums_load(name: str, version: int, tmp_path: Path) -> None:
    one, path = kept()[name], tmp_path / "old.json"
    one.save(path)
    data = json.loads(path.read_text(encoding="utf-8"))
    del data["checksum"], data["library"]
    path.write_text(json.dumps(data | {"version": version}), encoding="utf-8")
    assert one.load(path) == one.result


def test_a_deorbit_from_before_checksums_loads(tmp_path: Path) -> None:
    one, path = kept()["deorbit"], tmp_path / "old.json"
    data = {"form": "deorbit", "version": 1, "deorbit": persistence.encode(one.result)}
    path.write_text(json.dumps(data), encoding="utf-8")
    assert one.load(path) == one.result

"""Paths as they are given, and files that are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ascentopt.errors import InputError
from ascentopt.files import path_given, write_whole


class OwnPath(os.PathLike[str]):
    """A path of a user's own class."""

    def __fspath__(self) -> str:
        return "own.csv"


class BytesPath(os.PathLike[bytes]):
    """A path that is no text."""

    def __fspath__(self) -> bytes:
        return b"own.csv"


@pytest.mark.parametrize("path", ["own.csv", Path("own.csv"), OwnPath()])
def test_a_path_is_taken_as_text_or_as_any_path(path: object) -> None:
    assert path_given("load", path) == Path("own.csv")


@pytest.mark.parametrize("path", ["", None, 3, b"own.csv", BytesPath(), ["own.csv"]])
def test_what_is_no_path_is_refused(path: object) -> None:
    with pytest.raises(InputError, match=r"load: path is .*; it must be the path of a file\. Give"):
        path_given("load", path)


def test_line_ends_are_kept_and_nothing_lies_beside(tmp_path: Path) -> None:
    write_whole("save", tmp_path / "a", "one\r\ntwo\nthree")
    assert (tmp_path / "a").read_bytes() == b"one\r\ntwo\nthree"
    assert [one.name for one in tmp_path.iterdir()] == ["a"]


def test_what_no_file_takes_leaves_the_old_one_whole(tmp_path: Path) -> None:
    write_whole("save", tmp_path / "a", "old")
    with pytest.raises(InputError, match=r"save: '.*a' cannot be written .*surrogates"):
        write_whole("save", tmp_path / "a", "new \ud800")
    assert (tmp_path / "a").read_text() == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["a"]


def test_a_folder_wants_the_name_of_a_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is a folder.*Add the name of a file"):
        write_whole("save", tmp_path, "text")

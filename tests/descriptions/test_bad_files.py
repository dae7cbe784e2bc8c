"""Whatever a file holds: a launch comes out, or one error that names file and key, and at once."""

from __future__ import annotations

import re
import tomllib
import warnings
from collections import Counter
from pathlib import Path
from random import Random
from time import perf_counter

import pytest

import ascentopt as ao
from tests.descriptions.spoiled import WAYS, good_texts, with_other_bytes

SLOWEST = 1.0
"""s; reading takes a millisecond."""


def outcome(path: Path, data: bytes) -> str | None:
    """What `read` says of a file that holds these bytes; None where it describes a launch."""
    path.unlink(missing_ok=True)  # a new file is written four times as fast as an old one over
    path.write_bytes(data)
    begun = perf_counter()
    try:
        with warnings.catch_warnings():
            # A warning is no refusal: numbers may be odd and yet right.
            warnings.simplefilter("ignore", UserWarning)
            found = ao.read(path)
        assert isinstance(found, ao.Scenario)
        return None
    except ao.InputError as refusal:
        return str(refusal)
    finally:
        assert perf_counter() - begun < SLOWEST


def check_names_the_place(path: Path, data: bytes, said: str) -> None:
    """File, rule and fix always; the key wherever the file is TOML."""
    assert said.startswith(str(path))
    assert re.search(r"must|may|cannot|not |without", said), said
    assert said.endswith((".", "?")), said
    assert len(said) < 1500
    try:
        tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return
    assert re.match(re.escape(str(path)) + r": [^ ]+", said), said


def spoil(folder: Path, random: Random, count: int) -> Counter[str]:
    """Read so many spoiled files of each way to spoil one; how many were refused."""
    texts, path, refused = good_texts(folder), folder / "spoiled.toml", Counter[str]()
    for way in WAYS:
        for _ in range(count):
            text = random.choice(texts)
            for _ in range(random.choice([1, 1, 1, 2, 3])):
                text = way(text, random) if text.strip() else text
            data = text.encode()
            if said := outcome(path, data):
                refused[way.__name__] += 1
                check_names_the_place(path, data, said)
    for _ in range(count):
        data = with_other_bytes(random.choice(texts).encode(), random)
        if said := outcome(path, data):
            refused["bytes"] += 1
            check_names_the_place(path, data, said)
    return refused


def test_thousands_of_spoiled_files(tmp_path: Path) -> None:
    refused = spoil(tmp_path, Random(1), 200)
    assert len(refused) == len(WAYS) + 1
    assert sum(refused.values()) > 1200


@pytest.mark.slow
def test_tens_of_thousands_of_spoiled_files(tmp_path: Path) -> None:
    assert sum(spoil(tmp_path, Random(2), 3000).values()) > 18000


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        "a = " + "[" * 100_000,
        "a." * 1000 + "b = 1",
        "name = " + '"x"' * 3,
        "x = " + "9" * 100_000,
        "\ufeff",
        "",
        "\x00" * 1000,
        "name = 'a'\n" * 2,
        "vehicle = 1\nmission = 2\nname = 3",
        "'" * 1_000_000,
        '"' + "ä" * 500_000,
    ],
    ids=range(12),
)
def test_hostile_texts(tmp_path: Path, text: str) -> None:
    path = tmp_path / "hostile.toml"
    said = outcome(path, text.encode())
    assert said is not None
    check_names_the_place(path, text.encode(), said)

"""The gallery: numbered scripts in cells, each with its picture and its place in the index."""

from __future__ import annotations

import ast
import re
from inspect import getsource
from pathlib import Path

import pytest

from tests.rules.ones_own import HeldPitch, PowerLean

GALLERY = Path(__file__).parents[2] / "examples"
SCRIPTS = sorted(GALLERY.glob("*.py"))
MOST_BYTES = 200_000
CAUTION = "Preliminary analysis only"


def text_of(script: Path) -> str:
    return script.read_text(encoding="utf-8")


def test_they_are_numbered_in_one_row() -> None:
    numbers = [int(re.fullmatch(r"ex(\d\d)_\w+", one.stem)[1]) for one in SCRIPTS]  # type: ignore[index]
    assert numbers == list(range(1, len(SCRIPTS) + 1))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.stem)
def test_each_explains_itself_in_cells(script: Path) -> None:
    text = text_of(script)
    number = int(script.stem[2:4])
    assert text.startswith(f"# %% [markdown]\n# # {number}. ")
    assert CAUTION in text
    assert text.count("# %% [markdown]") >= 3
    assert re.search(r"^# %%$", text, re.MULTILINE)


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.stem)
def test_each_guards_numbers(script: Path) -> None:
    last = text_of(script).split("# ## The numbers that this page guards")
    assert len(last) == 2
    assert any(isinstance(node, ast.Assert) for node in ast.walk(ast.parse(last[1])))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.stem)
def test_each_needs_nothing_but_the_public_face(script: Path) -> None:
    found = set()
    for node in ast.walk(ast.parse(text_of(script))):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(str(node.module))
    assert {one for one in found if one.startswith("ascentopt")} <= {"ascentopt", "ascentopt.units"}
    assert not {one.split(".")[0] for one in found} & {"tests", "benchmarks", "examples"}


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.stem)
def test_each_writes_the_picture_that_lies_beside_it(script: Path) -> None:
    written = re.findall(r'out / "(ex\d\d_\w+\.png)"', text_of(script))
    assert f"{script.stem}.png" in written
    for name in written:
        picture = (GALLERY / name).read_bytes()
        assert picture.startswith(b"\x89PNG")
        assert len(picture) < MOST_BYTES, name


def test_no_picture_is_left_over() -> None:
    written = {name for one in SCRIPTS for name in re.findall(r'"(ex\d\d_\w+\.png)"', text_of(one))}
    assert {one.name for one in GALLERY.glob("*.png")} == written


def test_the_index_names_them_all() -> None:
    index = text_of(GALLERY / "README.md")
    rows = re.findall(r"^\| \[(\d+\. [^\]]+)\]\((ex\w+\.py)\)", index, re.MULTILINE)
    titles = [text_of(one).splitlines()[1].removeprefix("# # ") for one in SCRIPTS]
    assert rows == [(title, one.name) for title, one in zip(titles, SCRIPTS, strict=True)]
    shown = set(re.findall(r"\((ex\d\d_\w+\.png)\)", index))
    assert shown == {one.name for one in GALLERY.glob("*.png")}


@pytest.mark.parametrize(
    ("shown", "script"),
    [(PowerLean, "ex04_own_rule.py"), (HeldPitch, "ex06_own_insertion.py")],
    ids=["rule", "insertion"],
)
def test_what_tests_of_rules_fly_is_what_the_gallery_shows(shown: type, script: str) -> None:
    """An example runs as it is imported, so tests have its classes in a file of their own."""
    assert getsource(shown).strip() in text_of(GALLERY / script)

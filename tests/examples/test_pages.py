"""Code in README, pages and public docstrings runs, and prints what stands below it."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path
from typing import get_origin

import pytest

import ascentopt as ao
from tests.examples.code_blocks import blocks, run
from tests.examples.reference_tool import tool

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
PAGES = [ROOT / "README.md", EXAMPLES / "README.md", *sorted((EXAMPLES / "pages").glob("*.md"))]

SHORTEST_LINES = 160
"""README must stay shorter: what is longer is a page."""


def code_of(page: str) -> bool:
    return any(block.language == "python" for block in blocks(page))


def docstrings() -> dict[str, str]:
    """Of the modules of the reference, their public names and what those have.

    The alias of a type has none that Python knows: it is told where it is made.
    """
    found: dict[str, str] = {}
    for name in tool().MODULES:
        module = import_module(name)
        found[name] = module.__doc__ or ""
        for public in getattr(module, "__all__", ()):
            thing = getattr(module, public)
            if get_origin(thing) is not None:
                continue
            found[f"{name}.{public}"] = getattr(thing, "__doc__", None) or ""
            if isinstance(thing, type):
                for member, value in vars(thing).items():
                    text = getattr(value, "__doc__", None)
                    if not member.startswith("_") and isinstance(text, str):
                        found[f"{name}.{public}.{member}"] = text
    return found


WITH_CODE = {
    str(path.relative_to(ROOT)): path.read_text(encoding="utf-8") for path in PAGES
} | docstrings()
WITH_CODE = {name: text for name, text in WITH_CODE.items() if code_of(text)}


@pytest.mark.slow
@pytest.mark.parametrize("name", WITH_CODE)
def test_code_runs_and_prints_what_is_shown(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run(WITH_CODE[name], name)


def test_there_is_code_to_run() -> None:
    assert {"README.md", "ascentopt.rules"} <= set(WITH_CODE)


def test_the_readme_is_short_and_shows_what_its_script_prints() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(text.splitlines()) < SHORTEST_LINES
    assert [block.language for block in blocks(text) if block.printed] == ["text"]


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#]+)[^)]*\)", text)
    named = re.findall(r"`((?:examples|benchmarks|ascentopt|tests)/[\w./-]+)`", text)
    missing = [one for one in targets if not (path.parent / one).exists()]
    missing += [one for one in named if not (ROOT / one).exists()]
    assert missing == []


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_what_pages_call_by_name_exists(path: Path) -> None:
    named = set(re.findall(r"\bao\.((?:report\.)?\w+)", path.read_text(encoding="utf-8")))
    missing = []
    for name in named:
        first, _, second = name.partition(".")
        if not hasattr(ao, first) or (second and not hasattr(ao.report, second)):
            missing.append(name)
    assert missing == []


def test_every_public_name_has_its_place_in_the_reference() -> None:
    themes = tool().themes((EXAMPLES / "pages" / "reference.md").read_text(encoding="utf-8"))
    named = re.findall(r"`(\w+)`", themes)
    assert set(ao.__all__) - set(named) == set(), "without a theme: give them one in reference.md"
    assert set(named) - set(ao.__all__) == set(), "themes of names that are not public"
    assert len(named) == len(set(named)), "a name has two themes"


def test_every_public_name_says_what_it_is() -> None:
    bare = [name for name, text in docstrings().items() if not text.strip()]
    assert bare == []

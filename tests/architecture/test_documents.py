"""What the documents for developers name exists."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DECISIONS = ROOT / "benchmarks" / "decisions"
PACKAGE = ROOT / "ascentopt"
MATHEMATICS = [PACKAGE / room / "__init__.py" for room in ("optimal/problem", "collocation")]
DOCUMENTS = [ROOT / "DEVELOPERS.md", *MATHEMATICS, *sorted(DECISIONS.glob("*.md"))]
FILES = {
    str(path.relative_to(ROOT))
    for folder in ("ascentopt", "tests", "benchmarks", "examples")
    for path in (ROOT / folder).rglob("*")
    if "__pycache__" not in path.parts
}


def missing(text: str) -> Iterator[str]:
    """Paths in backticks that end no path of the repository."""
    for name in re.findall(r"`([\w./-]+/?)`", text):
        path = name.rstrip("/")
        if "/" in name or path.endswith((".py", ".md")):
            known = (ROOT / path).exists() or any(f"/{one}".endswith(f"/{path}") for one in FILES)
            if not known:
                yield name


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_path_it_names_exists(document: Path) -> None:
    assert list(missing(document.read_text(encoding="utf-8"))) == []


def test_a_path_that_is_gone_is_found() -> None:
    assert list(missing("see `optimal/attic.py` and `flight/`")) == ["optimal/attic.py"]


def test_the_index_of_decisions_names_every_page_and_no_other() -> None:
    index = (DECISIONS / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"^- \[[\w-]+\]\(([\w-]+\.md)\)", index, re.MULTILINE))
    assert named == {path.name for path in DECISIONS.glob("*.md")} - {"README.md"}


def test_developers_read_no_more_than_two_hundred_lines() -> None:
    assert len((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()) < 200

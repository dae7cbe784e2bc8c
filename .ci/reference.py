"""Build the reference from docstrings: `python .ci/reference.py FOLDER` (the `docs` extra).

A warning of the builder is an error. The first page begins with the themes of
`examples/pages/reference.md`, whose names become links.
"""

from __future__ import annotations

import importlib
import re
import sys
import warnings
from pathlib import Path

PAGES = Path(__file__).parents[1] / "examples" / "pages"

MODULES = (
    "ascentopt",
    "ascentopt.report",
    "ascentopt.units",
    "ascentopt.errors",
    "ascentopt.rules",
    "ascentopt.baselines",
    "ascentopt.command",
    "ascentopt.descriptions",
    "ascentopt.progress",
    "ascentopt.tables",
    "ascentopt.optimal.problem",
    "ascentopt.optimal.result.certificate",
    "ascentopt.collocation",
)
"""What is public, and where the mathematics stands. What else is inside is read in the source."""


def themes(page: str) -> str:
    """The part of the page below its mark: names by theme."""
    parts = page.split("<!-- themes -->")
    if len(parts) != 2:
        raise SystemExit("reference.md: the mark <!-- themes --> must stand in it once")
    return re.sub(r"^## ", "### ", parts[1], flags=re.MULTILINE)


def specifications() -> list[str]:
    """The modules, without those below them that are not named."""
    found = []
    for name in MODULES:
        found += [name, f"!{re.escape(name)}[.]"]
    return found


def build(folder: Path) -> list[Path]:
    """Write the pages; returns one for each module. Raises the first warning."""
    import pdoc
    import pdoc.render

    face = importlib.import_module("ascentopt")
    index = themes((PAGES / "reference.md").read_text(encoding="utf-8"))
    face.__doc__ = f"{face.__doc__}\n{index}"
    pdoc.render.configure(docformat="google", show_source=False)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        pdoc.pdoc(*specifications(), output_directory=folder)
    return [folder / f"{name.replace('.', '/')}.html" for name in MODULES]


def without_entry(pages: list[Path]) -> list[str]:
    """Modules without a page, and their public names without an entry on it."""
    found = []
    for name, page in zip(MODULES, pages, strict=True):
        if not page.is_file():
            found.append(name)
            continue
        text = page.read_text(encoding="utf-8")
        public = getattr(importlib.import_module(name), "__all__", ())
        within = [one for one in public if f"{name}.{one}" not in MODULES]  # others have their own
        found += [f"{name}.{one}" for one in within if f'id="{one}"' not in text]
    return found


if __name__ == "__main__":
    written = build(Path(sys.argv[1] if len(sys.argv) > 1 else "out/reference"))
    missing = without_entry(written)
    if missing:
        raise SystemExit(f"reference: no entry for {', '.join(missing)}")
    print(f"{len(written)} pages, first {written[0]}")

"""Print the least versions that a project declares, to be installed and tested.

`python3 least_versions.py pyproject.toml` gives "name==version" for each dependency, one a line;
`--tools name ...` the requirements of that name from the extra "test" as they stand, after them.
"""

from __future__ import annotations

import argparse
import re
import tomllib
from pathlib import Path
from typing import Any


def least(requirement: str) -> str:
    """A requirement pinned to its least version. Raises SystemExit where it declares none."""
    found = re.fullmatch(r"([A-Za-z0-9._-]+)\s*>=\s*([0-9][0-9A-Za-z.]*)", requirement.strip())
    if found is None:
        raise SystemExit(f"{requirement!r} must read 'name>=version': a least version and no more")
    return f"{found[1]}=={found[2]}"


def tools(project: dict[str, Any], names: list[str]) -> list[str]:
    """Requirements of the extra "test" with these names. Raises SystemExit for one that is not."""
    known = {re.split(r"[^A-Za-z0-9._-]", one)[0]: one for one in _extra(project)}
    missing = [name for name in names if name not in known]
    if missing:
        raise SystemExit(f"the extra 'test' has no {missing[0]!r}, but {', '.join(known)}")
    return [known[name] for name in names]


def _extra(project: dict[str, Any]) -> list[str]:
    extras: list[str] = project["optional-dependencies"]["test"]
    return extras


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pyproject", type=Path)
    parser.add_argument("--tools", nargs="*", default=[])
    chosen = parser.parse_args()
    project = tomllib.loads(chosen.pyproject.read_text(encoding="utf-8"))["project"]
    pinned = [least(one) for one in project["dependencies"]]
    print("\n".join([*pinned, *tools(project, chosen.tools)]))


if __name__ == "__main__":
    main()

"""Import every module of the installed package: run by the Python it is installed in, anywhere.

`python -I check_wheel.py VERSION FOLDER` fails unless the package comes from below FOLDER, has that
version, carries its type marker and imports whole with nothing but what it declares.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from importlib.metadata import version
from pathlib import Path


def check(expected_version: str, folder: Path) -> str:
    """What was imported, as one line; raises SystemExit with the reason when a check fails."""
    package = importlib.import_module("ascentopt")
    home = Path(str(package.__file__)).resolve().parent
    if not home.is_relative_to(folder.resolve()):
        raise SystemExit(f"ascentopt was imported from {home}, not from the wheel in {folder}")
    if version("ascentopt") != expected_version:
        raise SystemExit(f"the wheel says {version('ascentopt')}, pyproject {expected_version}")
    if not (home / "py.typed").is_file():
        raise SystemExit("the wheel lacks ascentopt/py.typed")
    names = [each.name for each in pkgutil.walk_packages(package.__path__, "ascentopt.")]
    for name in names:
        importlib.import_module(name)
    return f"ascentopt {expected_version}: {1 + len(names)} modules imported from {home}"


if __name__ == "__main__":
    print(check(sys.argv[1], Path(sys.argv[2])))

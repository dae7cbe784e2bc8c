"""The tool that builds the reference, which lies outside of any package."""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]


@cache
def tool() -> ModuleType:
    """`.ci/reference.py` as a module."""
    found = importlib.util.spec_from_file_location("reference", ROOT / ".ci" / "reference.py")
    assert found is not None and found.loader is not None  # noqa: PT018
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module

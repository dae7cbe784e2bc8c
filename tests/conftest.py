"""What every test runs under: deterministic property tests, and no windows.

Slow tests carry the marker `slow`, are left out by the default options in pyproject.toml and run
with `pytest -m slow`.
"""

from __future__ import annotations

import os

from hypothesis import settings

# The same examples on every run, so that a red build can be repeated, and no deadline, because the
# machines that run this are shared and one slow example proves nothing.
settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
# To go hunting: `pytest --hypothesis-profile=hunt`, new random examples each time.
settings.register_profile("hunt", deadline=None, max_examples=2000)
settings.load_profile("repeatable")

os.environ.setdefault("MPLBACKEND", "Agg")

"""What every test runs under: deterministic property tests, and no windows.

Slow tests carry the marker `slow`, are left out by the default options in pyproject.toml and run
with `pytest -m slow`. With `--rounding SEED` every solve is as on another processor, see
tests/rounding.py, and tests marked `exact` are skipped.
"""

from __future__ import annotations

import os

# Before NumPy is there: with a process on each core, threads of a linear algebra of 10 x 10
# matrices only wait for each other.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from contextlib import ExitStack

import pytest
from hypothesis import settings

from tests.rounding import Rounding, applied

# The same examples on every run, so that a red build can be repeated, and no deadline, because the
# machines that run this are shared and one slow example proves nothing.
settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
# To go hunting: `pytest --hypothesis-profile=hunt`, new random examples each time.
settings.register_profile("hunt", deadline=None, max_examples=2000)
settings.load_profile("repeatable")

# Ours by its name: a checkout that was not installed anew has it as well.
pytest_plugins = ("ascentopt_pytest", "pytester")

os.environ.setdefault("MPLBACKEND", "Agg")


def pytest_addoption(parser: pytest.Parser) -> None:
    text = "solve as on another processor, the one of this seed (tests/rounding.py)"
    parser.addoption("--rounding", type=int, default=None, metavar="SEED", help=text)


def pytest_configure(config: pytest.Config) -> None:
    """Patched before the tests are imported, which take functions by their names."""
    seed = config.getoption("--rounding")
    if seed is not None:
        another = ExitStack()
        another.enter_context(applied(Rounding(seed)))
        config.add_cleanup(another.close)


def pytest_report_header(config: pytest.Config) -> list[str]:
    seed = config.getoption("--rounding")
    return [] if seed is None else [f"rounding: every solve as on another processor, seed {seed}"]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--rounding") is None:
        return
    for item in items:
        exact = item.get_closest_marker("exact")
        if exact is not None:
            item.add_marker(pytest.mark.skip(reason=f"exact: {exact.kwargs['reason']}"))

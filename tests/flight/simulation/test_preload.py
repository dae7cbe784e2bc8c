"""The import that runs while a solver does."""

from __future__ import annotations

import subprocess
import sys
import threading

import pytest

from ascentopt.flight.simulation.preload import integrators_preloaded

FRESH = """
import sys
from ascentopt.flight.simulation.preload import integrators_preloaded
assert "scipy.integrate" not in sys.modules
with integrators_preloaded():
    pass
assert {"scipy.integrate", "scipy.interpolate"} <= set(sys.modules)
"""


def test_the_integrators_are_there_when_the_block_is_left() -> None:
    subprocess.run([sys.executable, "-c", FRESH], check=True)


def test_no_thread_is_left_behind_whatever_happens() -> None:
    before = threading.active_count()
    with pytest.raises(ValueError, match="inside"), integrators_preloaded():
        raise ValueError("inside")
    assert threading.active_count() == before

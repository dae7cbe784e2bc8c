"""The trapezoid rule is SciPy's, without its import."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import scipy.integrate
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.numerics.trapezoid import trapezoid

SIZES = st.floats(-1e6, 1e6)


@given(values=st.lists(SIZES, min_size=2, max_size=40), step=st.floats(1e-3, 1e3))
def test_it_is_scipys(values: list[float], step: float) -> None:
    own = np.array(values)
    most = step * float(np.abs(own).sum())
    expected = float(scipy.integrate.trapezoid(own, dx=step))
    assert trapezoid(own, step) == pytest.approx(expected, rel=1e-12, abs=1e-12 * most)


def test_a_body_is_made_without_scipy() -> None:
    script = "import sys, ascentopt as ao; ao.earth(); ao.mars(); sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0

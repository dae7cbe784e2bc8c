"""The integrator beside SciPy's, number by number and step by step."""

from __future__ import annotations

import numpy as np
from scipy.integrate import DOP853

from ascentopt.flight import dop853
from ascentopt.flight.integrate import Extension, Tolerances, Walk
from ascentopt.flight.stages import Called

START = np.array([0.994, 0.0, 0.0, -2.00158510637908])
MOON = 0.012277471
TOLERANCES = Tolerances(relative=1e-9, absolute=(1e-10, 1e-10, 1e-9, 1e-9), longest_step=0.5)


def three_bodies(time: float, state: np.ndarray) -> np.ndarray:
    """Arenstorf's orbit: Hairer, Norsett and Wanner, sec. II.0."""
    x, y, u, v = state
    earth = ((x + MOON) ** 2 + y**2) ** 1.5
    moon = ((x - 1.0 + MOON) ** 2 + y**2) ** 1.5
    return np.array([
        u,
        v,
        x + 2.0 * v - (1.0 - MOON) * (x + MOON) / earth - MOON * (x - 1.0 + MOON) / moon,
        y - 2.0 * u - (1.0 - MOON) * y / earth - MOON * y / moon,
    ])  # fmt: skip


def test_every_number_is_scipys() -> None:
    assert np.array_equal(dop853.A[: dop853.STAGES, : dop853.STAGES], DOP853.A)
    assert np.array_equal(dop853.A[dop853.STAGES + 1 :], DOP853.A_EXTRA)
    assert np.array_equal(dop853.B, DOP853.B)
    assert dop853.C[: dop853.STAGES] == tuple(DOP853.C)
    assert dop853.C[dop853.STAGES] == 1.0
    assert dop853.C[dop853.STAGES + 1 :] == tuple(DOP853.C_EXTRA)
    assert np.array_equal(dop853.D, DOP853.D)
    for own, scipys in ((dop853.E3, DOP853.E3), (dop853.E5, DOP853.E5)):
        assert np.array_equal([*own, 0.0], scipys)


def test_every_step_is_scipys() -> None:
    walk = Walk(Called(three_bodies), (0.0, START), 17.0, TOLERANCES, None)
    reference = DOP853(
        three_bodies, 0.0, START, 17.0,
        rtol=TOLERANCES.relative, atol=np.array(TOLERANCES.absolute), max_step=0.5,
    )  # fmt: skip
    count = 0
    while reference.status == "running":
        reference.step()
        step = walk.step()
        inside = np.linspace(step.begin, step.close, 5)
        within = Extension(walk.stages, step)(inside)
        # Rounding grows along this orbit, by a factor of ten thousand or so at each pass.
        assert abs(step.close - reference.t) < 1e-6
        assert np.abs(step.end - reference.y).max() < 1e-6
        if count < 20:
            assert np.abs(within - reference.dense_output()(inside).T).max() < 1e-12
        count += 1
    assert walk.time == reference.t == 17.0
    assert count > 60

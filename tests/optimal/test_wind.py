"""An optimum in wind: certified, and flown in still air it misses the orbit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from tests.launchers import PELICAN_POINT, TURNSTONE

JET = ao.Wind(
    altitude=(0.0, 3e3, 11e3, 16e3, 25e3), eastward=(5, 15, 45, 25, 5), northward=(0, 0, -6, 0, 0)
)


@pytest.mark.slow
def test_an_ascent_in_a_jet_stream_is_certified_and_made_for_it() -> None:
    calm = PELICAN_POINT
    air = calm.body.atmosphere
    assert air is not None
    windy = replace(calm, body=replace(calm.body, atmosphere=replace(air, wind=JET)))
    ascent = ao.optimize(TURNSTONE, windy)
    assert not ascent.certificate.beyond(), ascent.certificate
    assert abs(ascent.budget.closing_error) < 1e-3
    # The jet blows along the flight: it arrives with more than in still air (3606.8 kg).
    assert ascent.final_mass > 3615.0
    assert ascent.trajectory.air_speed[0] == pytest.approx(5.0, rel=1e-2)
    still = ao.fly(TURNSTONE, PELICAN_POINT, ascent.steering)
    missed = still.final_state[:3] - ascent.trajectory.final_state[:3]
    assert np.linalg.norm(missed) > 1e3

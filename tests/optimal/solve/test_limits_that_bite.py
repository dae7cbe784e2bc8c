"""Vehicles whose limits bite hard, some at the edge of what they can keep."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.units import kPa
from tests.optimal.explain.launches import a_solid_that_cannot_slow_down
from tests.optimal.launchers import Launch
from tests.optimal.solve.launches import (
    a_strong_solid_with_much_left,
    eight_boosters_at_a_small_angle,
)

pytestmark = pytest.mark.slow

BETWEEN_NODES = 1.015
"""As in the tests of single limits: half a per cent of a logarithm's or a square's scale."""


@pytest.mark.parametrize(
    "launch", [a_strong_solid_with_much_left(), eight_boosters_at_a_small_angle()], ids=str
)
def test_limits_that_steps_do_not_reach_are_kept(launch: Launch) -> None:
    ascent = launch.optimum()
    limits, flown = launch.mission.limits, ascent.trajectory
    assert limits.dynamic_pressure is not None
    assert limits.q_alpha is not None
    assert flown.dynamic_pressure.max() < BETWEEN_NODES * limits.dynamic_pressure
    assert np.nanmax(flown.q_alpha) < BETWEEN_NODES * limits.q_alpha
    assert not ascent.certificate.beyond()


def test_a_solid_first_stage_cannot_slow_down_and_the_refusal_says_by_how_much() -> None:
    launch = a_solid_that_cannot_slow_down()
    with pytest.raises(ao.InfeasibleAscent) as caught:
        launch.optimum()
    violation = caught.value.least_violation
    assert violation.wherever_it_ends
    allowed = (launch.mission.limits.dynamic_pressure or np.nan) / kPa
    assert f"{violation.factor * allowed:.4g} kPa (limit {allowed:.4g})" in str(caught.value)

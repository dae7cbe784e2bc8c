"""Random vehicles whose limits bite hard, some at the edge of what they can keep."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.units import kPa
from benchmarks.survey.generator import case

pytestmark = pytest.mark.slow

BETWEEN_NODES = 1.015
"""As in the tests of single limits: half a per cent of a logarithm's or a square's scale."""


@pytest.mark.parametrize("seed", [114, 92])
def test_limits_that_steps_do_not_reach_are_kept(seed: int) -> None:
    drawn = case(seed)
    ascent = ao.optimize(drawn.vehicle, drawn.mission)
    limits, flown = drawn.mission.limits, ascent.trajectory
    assert limits.dynamic_pressure is not None
    assert limits.q_alpha is not None
    assert flown.dynamic_pressure.max() < BETWEEN_NODES * limits.dynamic_pressure
    assert np.nanmax(flown.q_alpha) < BETWEEN_NODES * limits.q_alpha
    assert not ascent.certificate.beyond()


def test_a_solid_first_stage_cannot_slow_down_and_the_refusal_says_by_how_much() -> None:
    drawn = case(276)
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(drawn.vehicle, drawn.mission)
    violation = caught.value.least_violation
    assert violation.wherever_it_ends
    allowed = (drawn.mission.limits.dynamic_pressure or np.nan) / kPa
    assert f"{violation.factor * allowed:.4g} kPa (limit {allowed:.4g})" in str(caught.value)

"""Structures whose best flight a first guess misses: each was beaten by a random start once."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from examples.first_ascent import PELICAN_POINT, TURNSTONE


def test_a_heavy_payload_sheds_its_fairing_before_the_long_coast() -> None:
    """The guess falls short of the height where heating ends, and would carry it to the far end.

    The coast then shrank to nothing: refused, short by 127 m/s.
    """
    ascent = ao.optimize(replace(TURNSTONE, payload_mass=2740.0), PELICAN_POINT)
    events = ascent.events
    assert ascent.plan.restarts == 1
    assert events["fairing drop"].time < events["second cut-off"].time
    assert events["insertion"].time - events["second cut-off"].time > 2000.0


@pytest.mark.parametrize("payload", [2350.0, 2500.0, 2650.0])
@pytest.mark.slow
def test_no_payload_below_the_greatest_is_refused(payload: float) -> None:
    ascent = ao.optimize(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)
    assert ascent.propellant_margin > 0.9 * (2740.0 - payload)

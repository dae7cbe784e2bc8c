"""A limit on staging pressure loosened bit by bit frees propellant bit by bit.

Where the fairing goes once hung on chance: of neighbours half a per cent apart every other one
left 5 % less than the one before.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rocket import Fairing
from ascentopt.units import kPa
from tests.launchers import PELICAN_POINT, TURNSTONE


def used_within(pressure: float, max_heating: float) -> float:
    """Kg of propellant with so many Pa at staging."""
    fairing = TURNSTONE.fairing
    assert isinstance(fairing, Fairing)
    vehicle = replace(
        TURNSTONE, payload_mass=1000.0, fairing=replace(fairing, max_heating=max_heating)
    )
    limits = replace(PELICAN_POINT.limits, staging_dynamic_pressure=pressure)
    return ao.optimize(vehicle, replace(PELICAN_POINT, limits=limits)).propellant_used


@pytest.mark.slow
@pytest.mark.parametrize(("tightest", "max_heating"), [(0.1 * kPa, 1135.0), (0.2 * kPa, 2e4)])
def test_each_half_per_cent_is_worth_what_the_one_before_was(
    tightest: float, max_heating: float
) -> None:
    used = [used_within(tightest * 1.005**step, max_heating) for step in range(5)]
    gained = -np.diff(used)
    assert np.all(gained > 0.0)
    assert gained[1:] == pytest.approx(gained[:-1], rel=0.03)

"""Densities of draws: as the model says, and put where they belong."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.errors import InputError
from tests.studies.dispersions.scatter.cases import DENSITY, EVERYTHING
from tests.studies.dispersions.scatter.test_draws import draw


def test_it_scatters_at_each_altitude_as_it_says() -> None:
    drawn = draw((DENSITY,), ())(0, 20000)
    air = drawn.deviations.air
    assert air is not None
    logarithms = np.log(air.density)
    expected = np.interp(air.altitude, DENSITY.altitude, DENSITY.sigma)
    assert np.std(logarithms, axis=0) == pytest.approx(expected, rel=0.03)
    apart = np.abs(air.altitude[:, None] - air.altitude)
    assert np.abs(np.corrcoef(logarithms.T) - np.exp(-apart / 8e3)).max() < 0.03
    assert np.all(air.east == 0.0)


def test_with_a_factor_and_a_wind_each_is_as_it_is_alone() -> None:
    alone = draw((DENSITY,), ())(0, 9).deviations.air
    factor = next(one for one in EVERYTHING if one.name == "density")
    together = draw((*EVERYTHING, DENSITY), ())(0, 9)
    air = together.deviations.air
    assert alone is not None
    assert air is not None
    names = [name for name, _ in draw((*EVERYTHING, DENSITY), ()).columns]
    by = together.inputs[:, names.index(factor.name)]
    for k, row in enumerate(alone.density):
        expected = np.interp(air.altitude, alone.altitude, row) * (1.0 + by[k])
        assert air.density[k] == pytest.approx(expected)


def test_slips_are_refused() -> None:
    with pytest.raises(InputError, match=r"looks like per cent: write 0\.05"):
        ao.RandomDensity(altitude=[0.0, 4e4], sigma=[2.0, 5.0], correlation_length=8e3)
    with pytest.raises(InputError, match="looks like km"):
        ao.RandomDensity(altitude=[0.0, 4e4], sigma=[0.02, 0.05], correlation_length=8.0)

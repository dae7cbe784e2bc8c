"""What is flown by habit, on Earth and elsewhere."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.compiled_flight import CompiledFlightError
from ascentopt.rules.laws.angle_at_altitude import habitual_altitude
from ascentopt.units import deg, km
from examples.compare_laws import MARBLE
from tests.flight.rockets import globe
from tests.rules.cases import ANGLE, KICK, RATE, SMALL_PLANET


def density_at_ten_kilometres() -> float:
    """U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562: 0.41351 kg/m^3, 1.2250 at the ground."""
    return 0.41351


def test_on_earth_it_is_ten_kilometres() -> None:
    assert habitual_altitude(ao.earth()) == pytest.approx(10 * km, abs=10.0)


def test_elsewhere_the_air_is_as_dense() -> None:
    expected = 4 * km * log(2.0 / density_at_ten_kilometres())
    assert habitual_altitude(MARBLE) == pytest.approx(expected, abs=10.0)


def test_where_it_never_is_the_same_part_of_it_is_left() -> None:
    expected = 11.1 * km * log(1.2250 / density_at_ten_kilometres())
    assert habitual_altitude(ao.mars()) == pytest.approx(expected, abs=10.0)


def test_without_air_there_is_no_such_altitude() -> None:
    with pytest.raises(CompiledFlightError, match="no air"):
        habitual_altitude(globe())


def test_habits() -> None:
    assert SMALL_PLANET[0].rule is KICK
    assert SMALL_PLANET[0].flight.habit() == (60.0, 3 * deg)
    assert SMALL_PLANET[1].rule is ANGLE
    assert SMALL_PLANET[1].flight.habit() == (45 * deg,)
    assert SMALL_PLANET[2].rule is RATE
    speed, rate = SMALL_PLANET[2].flight.habit()
    burning = sum(stage.burn_time for stage in SMALL_PLANET[2].vehicle.stages)
    assert speed == 60.0
    assert np.degrees(rate) * 0.67 * burning == pytest.approx(90.0)

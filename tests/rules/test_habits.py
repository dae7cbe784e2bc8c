"""What is flown by habit, on Earth and elsewhere."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.laws.angle_at_altitude import habitual_altitude
from ascentopt.rules.laws.rule import Rule
from ascentopt.units import deg, km
from tests.flight.rockets import globe
from tests.launchers import MARBLE
from tests.rules.cases import ANGLE, INCLINED, KICK, RATE, SMALL_PLANET


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


def circle_at_the_ground(body: ao.Body) -> float:
    return float(np.sqrt(body.gravitational_parameter / body.radius))


def test_habits_on_earth() -> None:
    assert INCLINED[0].rule is KICK
    assert INCLINED[0].flight.habit() == (60.0, 3 * deg)


def test_habits_elsewhere_go_by_the_speed_of_a_circle() -> None:
    slower = np.sqrt(circle_at_the_ground(MARBLE) / circle_at_the_ground(ao.earth()))
    assert slower < 0.6
    assert SMALL_PLANET[0].flight.habit() == pytest.approx((60.0 * slower, 3 * deg))
    assert SMALL_PLANET[1].rule is ANGLE
    assert SMALL_PLANET[1].flight.habit() == (45 * deg,)
    assert SMALL_PLANET[2].rule is RATE
    speed, rate = SMALL_PLANET[2].flight.habit()
    burning = sum(stage.burn_time for stage in SMALL_PLANET[2].vehicle.stages)
    assert speed == pytest.approx(60.0 * slower)
    assert np.degrees(rate) * 0.67 * burning == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("rule", "own"),
    [
        (ao.KickRule(habit=(50.0, 5 * deg)), (50.0, 5 * deg)),
        (ao.AngleRule(habit=(40 * deg,)), (40 * deg,)),
        (ao.PitchRateRule(habit=(40.0, 0.8 * deg)), (40.0, 0.8 * deg)),
    ],
    ids=lambda one: getattr(one, "name", ""),
)
def test_a_habit_of_ones_own(rule: Rule, own: tuple[float, ...]) -> None:
    assert replace(SMALL_PLANET[0].flight, rule=rule).habit() == own


def test_a_habit_out_of_bounds_is_refused() -> None:
    with pytest.raises(ao.InputError, match=r"kick angle 500 deg; .* Give kick speed \(m/s\)"):
        ao.KickRule(habit=(50.0, 500 * deg))
    with pytest.raises(ao.InputError, match="must hold start speed"):
        ao.PitchRateRule(habit=(50.0,))


def test_a_kick_is_not_begun_before_the_vertical_rise_ends() -> None:
    assert KICK.as_flown((20.0, 0.1), 35.0) == (35.0, 0.1)
    assert KICK.as_flown((50.0, 0.1), 35.0) == (50.0, 0.1)
    assert RATE.as_flown((20.0, 0.1), 35.0) == (35.0, 0.1)
    assert ANGLE.as_flown((0.1,), 35.0) == (0.1,)

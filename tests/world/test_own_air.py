"""Air of one's own: in equilibrium with its gravity, denser, warmer, windy, as a balloon met it."""

from __future__ import annotations

from dataclasses import replace
from math import exp, sqrt
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.units import deg, km, kPa
from ascentopt.world import Atmosphere, Body, Wind
from ascentopt.world.table import with_slopes

STANDARD = Atmosphere.standard_1976()
DRY_AIR = 287.05287
HEIGHTS = np.linspace(-4.9 * km, 80 * km, 3001)

LEVELS = np.array([0.0, 0.3, 1.0, 1.5, 3.0, 5.5, 7.0, 9.0, 10.5, 11.8, 14.0, 16.5, 18.5, 20.5,
                   22.0, 24.0, 26.5, 28.0, 30.0]) * km  # fmt: skip


def body(gravity: float, air: Atmosphere) -> Body:
    radius = 900 * km
    return Body(
        name="Quartz", gravitational_parameter=gravity * radius**2, radius=radius,
        rotation_rate=1e-4, atmosphere=air,
    )  # fmt: skip


def exponential(**more: float) -> Atmosphere:
    return Atmosphere.exponential(
        surface_density=1.3, scale_height=6.0 * km, ceiling=80 * km, **more
    )


def imbalance(air: Atmosphere, heights: np.ndarray, gravity: np.ndarray | float) -> np.ndarray:
    """By how much d(ln p)/dz is not -g rho/p, as a part of it."""
    slope = with_slopes(air.log_pressure, heights)[1]
    wanted = -gravity * air.density(heights) / air.pressure(heights)
    return np.asarray(slope / wanted - 1.0)


def earths_gravity(heights: np.ndarray) -> np.ndarray:
    # U.S. Standard Atmosphere, 1976, eq. 17.
    return np.asarray(9.80665 * (6356766.0 / (6356766.0 + heights)) ** 2)


@given(st.floats(2.0, 30.0), st.floats(0.0, 60e3))
def test_exponential_air_carries_its_own_weight_on_any_body(
    gravity: float, altitude: float
) -> None:
    air = body(gravity, exponential()).atmosphere
    assert air is not None
    density, pressure, sound = air.state(altitude)
    # The weight of an exponential column, and the ideal gas.
    assert pressure == pytest.approx(gravity * density * 6.0 * km, rel=1e-9)
    warmth = gravity * 6.0 * km / DRY_AIR
    assert air.temperature is not None
    assert air.temperature(altitude) == pytest.approx(warmth, rel=1e-9)
    assert sound == pytest.approx(sqrt(1.4 * DRY_AIR * warmth), rel=1e-9)
    told = body(1.0, exponential(surface_gravity=gravity)).atmosphere
    assert told is not None
    assert list(told.state(altitude)) == pytest.approx([density, pressure, sound], rel=1e-12)


def test_until_it_has_a_body_it_weighs_as_on_earth_and_says_so() -> None:
    air = exponential()
    assert air.pressure(0.0) == pytest.approx(1.3 * 9.80665 * 6.0 * km)
    assert "under standard gravity" in str(air)
    there = body(3.0, air)
    assert "under" not in str(there.atmosphere)
    assert replace(there, name="Other").atmosphere == there.atmosphere  # it is settled once


def test_temperature_and_gas_say_the_pressure_where_no_gravity_is_given() -> None:
    air = exponential(surface_temperature=210.0, gas_constant=191.8)
    assert air.pressure(0.0) == pytest.approx(1.3 * 191.8 * 210.0, rel=1e-12)
    assert body(3.0, air).atmosphere == air


def test_gravity_and_temperature_are_kept_both() -> None:
    air = exponential(surface_gravity=5.0, surface_temperature=200.0)
    assert air.pressure(0.0) == pytest.approx(1.3 * 5.0 * 6.0 * km, rel=1e-12)
    assert air.temperature is not None
    assert air.temperature(3e4) == pytest.approx(200.0)
    with pytest.raises(InputError, match=r"gas_constant is 190.0 J.*it must be left out"):
        exponential(surface_gravity=5.0, surface_temperature=200.0, gas_constant=190.0)


@given(st.floats(0.3, 3.0))
def test_denser_air_is_as_warm_and_in_equilibrium(factor: float) -> None:
    air = STANDARD.with_density_scaled(factor)
    assert air.density(HEIGHTS) == pytest.approx(factor * STANDARD.density(HEIGHTS), rel=1e-12)
    assert air.pressure(HEIGHTS) == pytest.approx(factor * STANDARD.pressure(HEIGHTS), rel=1e-12)
    assert air.speed_of_sound(HEIGHTS) == pytest.approx(STANDARD.speed_of_sound(HEIGHTS), rel=1e-9)
    settled = body(3.0, exponential().with_density_scaled(factor)).atmosphere
    assert settled is not None
    assert settled.pressure(0.0) == pytest.approx(3.0 * settled.density(0.0) * 6.0 * km)


@given(st.floats(-40.0, 40.0))
def test_warmer_air_is_in_equilibrium(kelvins: float) -> None:
    air = STANDARD.with_temperature_offset(kelvins)
    assert air.pressure(0.0) == pytest.approx(101325.0, rel=1e-6)
    warm = 288.15 + kelvins
    assert air.density(0.0) == pytest.approx(101325.0 / (DRY_AIR * warm), rel=1e-5)  # ideal gas
    # As the standard's own tables, which bridge the kinks of its layers: 1e-3 there.
    assert np.abs(imbalance(air, HEIGHTS, earths_gravity(HEIGHTS))).max() < 2e-3
    smooth = (1 * km < HEIGHTS) & (10 * km > HEIGHTS)
    heights = HEIGHTS[smooth]
    assert np.abs(imbalance(air, heights, earths_gravity(heights))).max() < 2e-5


def test_a_warm_day_in_the_troposphere_is_the_closed_form() -> None:
    # T = 303.15 - 0.0065 h below 11 km geopotential: p = p0 (T/T0)^(g/(R L)), the report's eq. 33a
    # with another base temperature.
    air, height = STANDARD.with_temperature_offset(15.0), 5.0 * km
    geometric = 6356766.0 * height / (6356766.0 - height)
    warm = 303.15 - 6.5e-3 * height
    wanted = 101325.0 * (warm / 303.15) ** (9.80665 / (287.05287 * 6.5e-3))
    assert air.pressure(geometric) == pytest.approx(wanted, rel=2e-6)
    assert air.density(geometric) == pytest.approx(wanted / (287.05287 * warm), rel=2e-5)


def test_warm_exponential_air_is_thicker() -> None:
    air = body(5.0, exponential()).atmosphere
    assert air is not None
    assert air.temperature is not None
    warm = air.with_temperature_offset(10.0)
    cold = air.temperature(0.0)
    height = 6.0 * km * (cold + 10.0) / cold
    assert warm.pressure(20 * km) == pytest.approx(air.pressure(0.0) * exp(-20 * km / height))


def test_no_offset_changes_nothing() -> None:
    same = STANDARD.with_temperature_offset(0.0)
    heights = np.linspace(-20 * km, 1200 * km, 2001)
    assert same.density(heights) == pytest.approx(STANDARD.density(heights), rel=1e-11)
    assert same.pressure(heights) == pytest.approx(STANDARD.pressure(heights), rel=1e-11)


def test_a_wind_is_put_on_and_taken_off() -> None:
    wind = Wind(altitude=(0.0, 10e3), eastward=(5.0, 40.0), northward=(0.0, 0.0))
    assert STANDARD.with_wind(wind).wind == wind
    assert STANDARD.with_wind(wind).with_wind(None) == STANDARD


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda: STANDARD.with_density_scaled(0.0), "factor is 0.0; it must be positive"),
        (lambda: STANDARD.with_temperature_offset(-200.0), "kelvins is -200.0 K; it must be more"),
        (lambda: exponential().with_temperature_offset(5.0), "has no temperature of its own"),
        (lambda: STANDARD.with_wind("westerly"), "wind"),  # type: ignore[arg-type]
    ],
)
def test_what_cannot_be_is_refused(change: Any, text: str) -> None:
    with pytest.raises(InputError, match=text):
        change()


def balloon(**change: Any) -> Atmosphere:
    """A cold, still, dense day: the standard's levels, 12 K colder and with 2 % more pressure."""
    day = STANDARD.with_temperature_offset(-12.0).with_density_scaled(1.02)
    assert day.temperature is not None
    given = {
        "altitude": LEVELS,
        "pressure": day.pressure(LEVELS),
        "temperature": day.temperature(LEVELS),
    }
    return Atmosphere.sounding(**{**given, **change})


def test_a_sounding_is_met_at_its_levels() -> None:
    air, day = balloon(), STANDARD.with_temperature_offset(-12.0).with_density_scaled(1.02)
    assert air.pressure(LEVELS) == pytest.approx(day.pressure(LEVELS), rel=1e-12)
    assert day.temperature is not None
    ideal = day.pressure(LEVELS) / (DRY_AIR * day.temperature(LEVELS))
    assert air.density(LEVELS) == pytest.approx(ideal, rel=1e-12)
    assert air.bottom == 0.0


def test_above_the_burst_it_goes_over_to_the_standard_in_equilibrium() -> None:
    air = balloon()
    heights = np.linspace(30.2 * km, 85 * km, 2001)
    assert np.abs(imbalance(air, heights, earths_gravity(heights))).max() < 2e-3
    high = np.linspace(41 * km, 800 * km, 500)
    ratio = air.density(high) / STANDARD.density(high)
    assert ratio == pytest.approx(ratio[0], rel=1e-9)  # the same air, a constant share of it
    assert 0.9 < ratio[0] / (air.pressure(30 * km) / STANDARD.pressure(30 * km)) < 1.0
    warmth = air.temperature
    assert warmth is not None
    assert STANDARD.temperature is not None
    assert warmth(45 * km) == pytest.approx(STANDARD.temperature(45 * km), abs=0.5)


def test_the_join_is_smooth() -> None:
    air, h = balloon(), 0.5
    for table in (air.log_density, air.log_pressure):
        before, after = with_slopes(table, np.array([30 * km - h, 30 * km + h])).T
        assert after[0] - before[0] == pytest.approx(h * (before[1] + after[1]), rel=1e-6)
        assert after[1] == pytest.approx(before[1], abs=3.0 * h * abs(after[2] - before[2]) + 1e-8)


@pytest.mark.parametrize("altitude", [-6.4e6, -1e6, -3e4, 29.99e3, 30e3, 35e3, 2e6, 1e9, 1e12])
@pytest.mark.parametrize(
    "air",
    [balloon(), STANDARD.with_temperature_offset(30.0), STANDARD.with_density_scaled(2.0)],
    ids=lambda air: air.name,
)
def test_own_air_is_finite_everywhere_with_two_derivatives(
    air: Atmosphere, altitude: float
) -> None:
    x = ca.SX.sym("x")
    state = air.state(x)
    values = ca.vertcat(*state)
    bends = ca.vertcat(*(ca.hessian(value, x)[0] for value in state))
    for out in ca.Function("air", [x], [values, ca.jacobian(values, x), bends])(altitude):
        assert np.isfinite(np.array(out)).all()


def test_a_wind_from_the_west_blows_east_and_fades_out_above() -> None:
    air = balloon(
        wind_speed=np.linspace(2.0, 38.0, len(LEVELS)),
        wind_from=np.full(len(LEVELS), 270.0 * deg),
    )
    assert air.wind is not None
    assert air.wind.at(30 * km) == pytest.approx((38.0, 0.0), abs=1e-9)
    assert air.wind.at(41 * km) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert "sounding up to 30 km" in str(air)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"pressure": STANDARD.pressure(LEVELS) / 100.0}, "Give pascals: hPa times 100"),
        ({"altitude": LEVELS / 0.3048}, r"altitude\[1\] is 984.* it must be 300 m above"),
        ({"temperature": np.full(len(LEVELS), 15.0)}, "hypsometric equation"),
        ({"temperature": np.full(len(LEVELS), -15.0)}, r"temperature\[0\] is -15.0"),
        ({"altitude": LEVELS[:-1]}, "must be equally many"),
        ({"altitude": LEVELS[::-1]}, "must be above the value before it"),
        ({"wind_speed": np.full(len(LEVELS), 9.0)}, "wind_from has 0"),
        ({"wind_speed": np.full(len(LEVELS), -9.0), "wind_from": LEVELS * 0.0}, "wind_speed"),
        ({"wind_speed": LEVELS * 0.0, "wind_from": np.full(len(LEVELS), 270.0)}, "wind_from"),
        ({"gas_constant": 0.0}, "gas_constant is 0.0"),
        ({"above": exponential()}, "has no temperature of its own"),
    ],
)
def test_levels_that_no_balloon_met_are_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        balloon(**change)


def test_a_sounding_over_a_high_site_begins_there() -> None:
    high = LEVELS[1.2 * km < LEVELS]
    assert STANDARD.temperature is not None
    air = Atmosphere.sounding(
        altitude=high, pressure=STANDARD.pressure(high), temperature=STANDARD.temperature(high)
    )
    assert air.bottom == 1.5 * km
    assert air.pressure(1.5 * km) == pytest.approx(84.56 * kPa, rel=1e-3)  # the report's table 1

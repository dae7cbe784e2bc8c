"""Atmospheres of every kind: values, behaviour far outside, refusals."""

from __future__ import annotations

import pickle
from dataclasses import replace
from math import exp, inf, nan, sqrt
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.units import km
from ascentopt.world import Atmosphere, SmoothTable, mars

EXPONENTIAL = {"surface_density": 1.225, "scale_height": 7200.0, "ceiling": 100 * km}
TABLE: dict[str, Any] = {
    "altitude": [0.0, 10e3, 20e3, 40e3, 80e3],
    "temperature": [210.0, 190.0, 175.0, 150.0, 130.0],
    "pressure": [650.0, 250.0, 90.0, 9.0, 0.03],
    "density": [0.016, 0.0068, 0.0027, 3.1e-4, 1.2e-6],
    "ceiling": 120 * km,
    "heat_capacity_ratio": 1.3,
}

ATMOSPHERES = [
    Atmosphere.standard_1976(),
    Atmosphere.exponential(**EXPONENTIAL),
    Atmosphere.tabulated(**TABLE),
]


@given(st.floats(-30e3, 300e3))
def test_exponential_air_is_exactly_exponential(altitude: float) -> None:
    air = Atmosphere.exponential(**EXPONENTIAL)
    density = 1.225 * exp(-altitude / 7200.0)
    assert air.density(altitude) == pytest.approx(density, rel=1e-12)
    assert air.pressure(altitude) == pytest.approx(density * 9.80665 * 7200.0, rel=1e-7)
    assert air.speed_of_sound(altitude) == pytest.approx(sqrt(1.4 * 9.80665 * 7200.0), rel=1e-7)


def test_a_table_is_reproduced_at_its_points() -> None:
    air = Atmosphere.tabulated(**TABLE)
    z = np.array(TABLE["altitude"])
    assert air.density(z) == pytest.approx(TABLE["density"], rel=1e-12)
    assert air.pressure(z) == pytest.approx(TABLE["pressure"], rel=1e-12)
    sound = np.sqrt(1.3 * np.array(TABLE["pressure"]) / np.array(TABLE["density"]))
    assert air.speed_of_sound(z) == pytest.approx(sound, rel=1e-12)
    assert air.bottom == 0.0


@pytest.mark.parametrize("air", ATMOSPHERES, ids=lambda air: air.name)
@pytest.mark.parametrize("altitude", [-6.4e6, -1e6, -3e4, 2e6, 1e9, 1e12])
def test_a_wandering_iterate_stays_finite_with_its_derivatives(
    air: Atmosphere, altitude: float
) -> None:
    x = ca.SX.sym("x")
    state = air.state(x)
    values = ca.vertcat(*state)
    hessians = [ca.hessian(value, x)[0] for value in state]
    f = ca.Function("air", [x], [values, ca.jacobian(values, x), ca.vertcat(*hessians)])
    for out in f(altitude):
        assert np.isfinite(np.array(out)).all()
    density, pressure, sound = air.state(altitude)
    assert density <= 150 * air.density(0.0)
    assert pressure <= 150 * air.pressure(0.0)
    assert 50.0 < sound < 5000.0


@pytest.mark.parametrize("air", ATMOSPHERES, ids=lambda air: air.name)
def test_the_single_methods_agree_with_the_joint_one(air: Atmosphere) -> None:
    z = np.linspace(-1e6, 2e6, 4001)
    density, pressure, sound = air.state(z)
    assert (air.density(z) == density).all()
    assert (air.pressure(z) == pressure).all()
    assert (air.speed_of_sound(z) == sound).all()


@pytest.mark.parametrize("air", ATMOSPHERES, ids=lambda air: air.name)
def test_it_survives_a_round_trip(air: Atmosphere) -> None:
    air.state(0.0)
    copy = pickle.loads(pickle.dumps(air))
    assert copy == air
    assert hash(copy) == hash(air)
    assert "kg/m^3" in str(air)


def test_mars_is_thin_and_its_sound_slow() -> None:
    # NASA GSFC Mars fact sheet (from memory): about 0.020 kg/m^3 at the ground, 6.4 hPa; isothermal
    # air of that density and of 210 K has a pressure a quarter too high, as stated there.
    air = mars().atmosphere
    assert air is not None
    density, pressure, sound = air.state(0.0)
    assert density == pytest.approx(0.020)
    assert 600.0 < pressure < 820.0
    assert 220.0 < sound < 240.0


@pytest.mark.parametrize("name", ["surface_density", "scale_height", "ceiling"])
@pytest.mark.parametrize("value", [nan, inf, 0.0, -1.0, "dense"])
def test_exponential_air_refuses_nonsense(name: str, value: Any) -> None:
    with pytest.raises(InputError, match=name):
        Atmosphere.exponential(**{**EXPONENTIAL, name: value})


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"altitude": [0.0, 10e3, 10e3, 40e3, 80e3]}, r"altitude\[2\] is 10000.0 m; it must be ab"),
        ({"density": [0.016, 0.0068]}, "density has 2 values; they must be equally many"),
        ({"pressure": [650.0, 250.0, 90.0, 0.0, 0.03]}, r"pressure\[3\] is 0.0; it must be pos"),
        ({"temperature": [210.0, nan, 175.0, 150.0, 130.0]}, r"temperature\[1\] is nan"),
        ({"heat_capacity_ratio": 1.0}, "heat_capacity_ratio is 1.0; it must be above 1"),
    ],
)
def test_a_bad_table_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        Atmosphere.tabulated(**{**TABLE, **change})


def test_tables_on_different_knots_are_refused() -> None:
    other = SmoothTable.through(x=(0.0, 1e5), y=(11.0, 0.0))
    with pytest.raises(InputError, match="have different knots; they must share"):
        replace(ATMOSPHERES[2], log_pressure=other)


def test_the_surface_is_that_of_the_report() -> None:
    air = Atmosphere.standard_1976()
    # NOAA-S/T 76-1562, table 1: 1.2250 kg/m^3, 101325 Pa, 340.29 m/s at sea level.
    assert list(air.state(0.0)) == pytest.approx([1.2250, 101325.0, 340.294], rel=1e-5)

"""Engines and solid motors: derived figures, and what is refused."""

from __future__ import annotations

import pickle
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from ascentopt.errors import InputError
from ascentopt.rocket import Engine, SolidMotor
from ascentopt.units import kN

positive = st.floats(1e-3, 1e9)
NOT_POSITIVE: list[Any] = [float("nan"), float("inf"), 0.0, -3.0, "much", None, True]
CURVE: dict[str, Any] = {
    "time": [0.0, 5.0, 60.0, 75.0],
    "vacuum_thrust": [600 * kN, 700 * kN, 600 * kN, 300 * kN],
    "vacuum_isp": 280.0,
}


def test_mass_flow_is_thrust_over_exhaust_speed() -> None:
    engine = Engine(vacuum_thrust=980665.0, vacuum_isp=250.0)
    assert engine.mass_flow == pytest.approx(400.0, rel=1e-14)
    assert engine.effective_exit_area == 0.0
    assert engine.isp_at_sea_level == 250.0


@given(thrust=positive, isp=st.floats(50, 500), ratio=st.floats(0.05, 1.0))
def test_the_three_ways_to_give_back_pressure_agree(
    thrust: float, isp: float, ratio: float
) -> None:
    by_isp = Engine(vacuum_thrust=thrust, vacuum_isp=isp, sea_level_isp=ratio * isp)
    by_thrust = Engine(vacuum_thrust=thrust, vacuum_isp=isp, sea_level_thrust=ratio * thrust)
    area = thrust * (1 - ratio) / 101325.0
    by_area = Engine(vacuum_thrust=thrust, vacuum_isp=isp, exit_area=area)
    for engine in (by_isp, by_thrust, by_area):
        assert engine.effective_exit_area == pytest.approx(area, rel=1e-9, abs=1e-15 * thrust)
        assert engine.isp_at_sea_level == pytest.approx(ratio * isp, rel=1e-9)
        assert engine.mass_flow == by_isp.mass_flow


def test_an_engine_gives_the_same_at_any_time() -> None:
    engine = Engine(vacuum_thrust=90 * kN, vacuum_isp=300.0)
    assert engine.vacuum_thrust_at(12.0) == 90 * kN
    assert engine.mass_flow_at(12.0) == engine.mass_flow
    assert engine.mean_thrust == 90 * kN


@pytest.mark.parametrize("field", ["vacuum_thrust", "vacuum_isp"])
@pytest.mark.parametrize("value", NOT_POSITIVE)
def test_an_engine_refuses_nonsense(field: str, value: Any) -> None:
    good = {"vacuum_thrust": 9e4, "vacuum_isp": 300.0}
    with pytest.raises(InputError, match=f"Engine: {field} is .*; it must be "):
        Engine(**{**good, field: value})


@pytest.mark.parametrize(
    ("extra", "text"),
    [
        ({"sea_level_isp": 301.0}, "sea_level_isp is 301.0 s; it must be at most vacuum_isp"),
        ({"sea_level_thrust": 9.1e4}, "sea_level_thrust is 91000.0 N; it must be at most vacuum"),
        ({"sea_level_isp": 0.0}, "sea_level_isp is 0.0 s; it must be positive"),
        ({"exit_area": -1.0}, r"exit_area is -1.0 m\^2; it must be zero or more"),
        ({"min_throttle": 0.0}, "min_throttle is 0.0; it must be above 0 and at most 1"),
        ({"min_throttle": 60.0}, "min_throttle is 60.0; it must be above 0 and at most 1"),
        (
            {"sea_level_isp": 250.0, "exit_area": 1.0},
            "sea_level_isp = 250.0 and exit_area = 1.0 are both given; .* Keep the one",
        ),
    ],
)
def test_an_engine_that_contradicts_itself_is_refused(extra: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        Engine(vacuum_thrust=9e4, vacuum_isp=300.0, **extra)


def test_misspelt_fields_are_refused() -> None:
    with pytest.raises(InputError, match=r"vacuum_trust is 90000.0.*Did you mean vacuum_thrust"):
        Engine(vacuum_trust=9e4, vacuum_isp=300.0)  # type: ignore[call-arg]


def test_a_motor_burns_what_its_curve_says() -> None:
    motor = SolidMotor(**CURVE)
    t = np.linspace(0.0, 75.0, 200001)
    thrust = motor.vacuum_thrust_at(t)
    impulse = np.sum((thrust[1:] + thrust[:-1]) / 2 * np.diff(t))
    assert motor.total_impulse == pytest.approx(impulse, rel=1e-9)
    assert motor.propellant_mass == pytest.approx(impulse / (280.0 * 9.80665), rel=1e-9)
    assert motor.burn_time == 75.0
    assert motor.mean_thrust == pytest.approx(impulse / 75.0, rel=1e-9)
    assert motor.mass_flow * 75.0 == pytest.approx(motor.propellant_mass, rel=1e-14)
    # Straight lines through the points, the crude estimate, come within a per cent.
    assert motor.total_impulse == pytest.approx(trapezoid(CURVE["vacuum_thrust"], CURVE["time"]),
                                                rel=0.03)  # fmt: skip


@given(st.lists(st.floats(1.0, 1e6), min_size=2, max_size=8))
def test_thrust_stays_positive_during_the_burn(thrusts: list[float]) -> None:
    motor = SolidMotor(time=range(len(thrusts)), vacuum_thrust=thrusts, vacuum_isp=250.0)
    t = np.linspace(0.0, motor.burn_time, 400)
    rounding = 1e-13 * max(thrusts)
    assert motor.vacuum_thrust_at(t).min() >= min(thrusts) - rounding
    assert motor.mass_flow_at(t).min() > 0.0


def test_a_constant_curve_is_an_engine() -> None:
    motor = SolidMotor(time=(0, 100), vacuum_thrust=(5e5, 5e5), vacuum_isp=270.0, sea_level_isp=240)
    engine = Engine(vacuum_thrust=5e5, vacuum_isp=270.0, sea_level_isp=240)
    for name in ("mass_flow", "mean_thrust", "effective_exit_area", "isp_at_sea_level"):
        assert getattr(motor, name) == pytest.approx(getattr(engine, name), rel=1e-14)
    assert motor.min_throttle == 1.0


@given(st.floats(1e2, 1e6))
def test_a_scaled_motor_burns_the_propellant_exactly(mass: float) -> None:
    motor = SolidMotor(**CURVE, sea_level_isp=255.0)
    scaled = motor.scaled_to(mass)
    assert scaled.propellant_mass == pytest.approx(mass, rel=1e-9)
    assert scaled.burn_time == motor.burn_time
    assert scaled.isp_at_sea_level == pytest.approx(255.0, rel=1e-12)


def test_a_motor_takes_symbols() -> None:
    motor = SolidMotor(**CURVE)
    t = ca.SX.sym("t")
    f = ca.Function("f", [t], [motor.vacuum_thrust_at(t), motor.mass_flow_at(t)])
    thrust, flow = f(33.0)
    assert float(thrust) == pytest.approx(motor.vacuum_thrust_at(33.0), rel=1e-12)
    assert float(flow) == pytest.approx(motor.mass_flow_at(33.0), rel=1e-12)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"time": [1.0, 5.0, 60.0, 75.0]}, r"time\[0\] is 1.0 s; it must be 0.0"),
        ({"time": [0.0, 60.0, 60.0, 75.0]}, r"time\[2\] is 60.0 s; it must be above the value"),
        ({"vacuum_thrust": [6e5, 7e5, 0.0, 3e5]}, r"vacuum_thrust\[2\] is 0.0 N; it must be pos"),
        ({"vacuum_thrust": [6e5]}, "time has 4, vacuum_thrust has 1 values; they must be equally"),
        ({"time": [0.0], "vacuum_thrust": [6e5]}, "time has 1 values; it must have at least 2"),
        ({"vacuum_isp": float("nan")}, "vacuum_isp is nan s; it must be a finite number"),
        ({"sea_level_isp": 250.0, "exit_area": 1.0}, "are both given"),
        ({"sea_level_isp": 281.0}, "sea_level_isp is 281.0 s; it must be at most vacuum_isp"),
    ],
)
def test_a_bad_motor_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        SolidMotor(**{**CURVE, **change})


@given(thrust=positive, isp=st.floats(20.0, 500.0), throttle=st.floats(0.01, 1.0))
def test_engines_survive_a_round_trip(thrust: float, isp: float, throttle: float) -> None:
    engine = Engine(vacuum_thrust=thrust, vacuum_isp=isp, min_throttle=throttle)
    assert pickle.loads(pickle.dumps(engine)) == engine
    assert eval(repr(engine)) == engine
    motor = SolidMotor(time=(0.0, isp), vacuum_thrust=(thrust, 2 * thrust), vacuum_isp=isp)
    assert motor.total_impulse > 0.0
    copy = pickle.loads(pickle.dumps(motor))
    assert copy == motor
    assert hash(copy) == hash(motor)
    assert eval(repr(motor)) == motor

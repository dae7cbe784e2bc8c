"""What nothing throttles, under a limit on acceleration: motors, and boosters beside a core."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.optimal.bounds.motor_acceleration import (
    check_motors,
    motors_that_need_drag,
    payload_that_motors_bear,
)
from ascentopt.optimal.bounds.unburned import payload_that_lets_all_be_lit
from ascentopt.units import g0, kN

ENGINE = ao.Engine(vacuum_thrust=600 * kN, vacuum_isp=320.0, min_throttle=0.5)
CORE = ao.Stage(name="core", propellant_mass=40e3, dry_mass=4e3, engine=ENGINE)
UPPER = ao.Stage(
    name="upper",
    propellant_mass=8e3,
    dry_mass=1e3,
    engine=ao.Engine(vacuum_thrust=60 * kN, vacuum_isp=350.0),
)
SIDE = ao.BoosterGroup(
    name="side",
    count=2,
    propellant_mass=20e3,
    dry_mass=2e3,
    engine=ao.Engine(vacuum_thrust=800 * kN, vacuum_isp=300.0),
)
LAUNCHER = ao.Vehicle(name="Siskin", payload_mass=500.0, stages=(CORE, UPPER), boosters=(SIDE,))


def within(limit: float) -> ao.Mission:
    """To a low orbit of a moon without air, with a limit on acceleration in m/s^2."""
    return ao.Mission(
        body=ao.moon(),
        site=ao.LaunchSite(latitude=0.0),
        orbit=ao.CircularOrbit(altitude=100e3),
        limits=ao.FlightLimits(axial_acceleration=limit),
    )


def pushed_at_the_boosters_end() -> float:
    """Two boosters and the core at half thrust, by hand, over what stands there then, m/s^2."""
    burned_out = 20e3 * 300.0 * g0 / 800e3
    burned = burned_out * 300e3 / (320.0 * g0)
    return (2 * 800e3 + 300e3) / (LAUNCHER.lift_off_mass - 2 * 20e3 - burned)


def test_boosters_that_push_beyond_the_limit_are_refused_before_anything_is_solved() -> None:
    pushed = pushed_at_the_boosters_end()
    check_motors(LAUNCHER, within(1.001 * pushed))
    with pytest.raises(ao.InputError, match="boosters of vehicle 'Siskin'"):
        check_motors(LAUNCHER, within(0.999 * pushed))


def test_boosters_that_only_drag_holds_back_say_so() -> None:
    pushed = pushed_at_the_boosters_end()
    assert not any(motors_that_need_drag(LAUNCHER, within(1.001 * pushed)))
    assert "boosters" in next(motors_that_need_drag(LAUNCHER, within(0.999 * pushed)))


def test_a_core_that_throttles_further_lets_its_boosters_push() -> None:
    deep = replace(CORE, engine=replace(ENGINE, min_throttle=0.1))
    gentle = replace(LAUNCHER, stages=(deep, UPPER))
    limit = within(0.99 * pushed_at_the_boosters_end())
    assert any(motors_that_need_drag(LAUNCHER, limit))
    assert not any(motors_that_need_drag(gentle, limit))


MOTOR = ao.Stage(
    name="motor",
    propellant_mass=30e3,
    dry_mass=3e3,
    engine=ao.SolidMotor(
        time=(0.0, 60.0), vacuum_thrust=(1200 * kN, 1200 * kN), vacuum_isp=280.0
    ).scaled_to(30e3),
)
THROWN = ao.Vehicle(name="Whinchat", payload_mass=500.0, stages=(MOTOR, UPPER))


@pytest.mark.parametrize("limit", [60.0, 80.0])
def test_with_the_payload_that_a_motor_bears_it_ends_its_burn_at_the_limit(limit: float) -> None:
    mission = within(limit)
    least = payload_that_motors_bear(THROWN, mission)
    assert least > 0.0
    heavier, lighter = (replace(THROWN, payload_mass=least + more) for more in (1.0, -1.0))
    assert not any(motors_that_need_drag(heavier, mission))
    assert any(motors_that_need_drag(lighter, mission))


def test_a_motor_that_any_payload_bears_asks_for_none() -> None:
    assert payload_that_motors_bear(THROWN, within(500.0)) == 0.0
    assert payload_that_motors_bear(LAUNCHER, within(2.0)) == 0.0  # no motor, but boosters


def test_the_payload_that_lets_all_be_lit_is_that_of_the_briskest_stage() -> None:
    single = replace(LAUNCHER, boosters=())
    limit = 7.0
    core = 0.5 * 600e3 / limit - (single.lift_off_mass - 500.0)
    upper = 60e3 / limit - 9e3
    assert payload_that_lets_all_be_lit(single, limit) == pytest.approx(max(0.0, core, upper))
    assert payload_that_lets_all_be_lit(single, 3.0) == pytest.approx(
        max(0.5 * 600e3 / 3.0 - 53e3, 60e3 / 3.0 - 9e3)
    )
    assert payload_that_lets_all_be_lit(single, None) == 0.0

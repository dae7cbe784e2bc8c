"""What a limit on acceleration leaves unburned, by the rocket equation written out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import log

import pytest

import ascentopt as ao
from ascentopt.optimal.bounds.unburned import (
    ideal_delta_v_within,
    kept_unburned,
    least_mass_alight,
    limit_that_leaves_nothing,
    payload_of_most_delta_v,
)
from ascentopt.units import g0, kN
from tests.optimal.explain.launches import of_fixed_thrust

LAUNCHER = of_fixed_thrust(apoapsis=4000e3).vehicle
LIMIT = 5.0 * g0
LOWER, UPPER = 5200e3 / LIMIT, 600e3 / LIMIT
"""kg that each stage accelerates by the limit."""


def carrying(payload: float) -> ao.Vehicle:
    return replace(LAUNCHER, payload_mass=payload)


def throttling(stage: ao.Stage) -> ao.Engine:
    assert isinstance(stage.engine, ao.Engine)
    return replace(stage.engine, min_throttle=0.3)


def by_hand(payload: float) -> float:
    """Each stage from its full mass to the one that it accelerates by the limit."""
    carried = payload + 64200.0
    lower = 312.0 * g0 * log((289000.0 + carried + 1500.0) / LOWER)
    return lower + 348.0 * g0 * log(carried / max(UPPER, payload + 4200.0))


@pytest.mark.parametrize("payload", [1000.0, 4000.0, 8000.0, 9000.0])
def test_a_stage_stops_at_the_mass_that_its_thrust_accelerates_by_the_limit(payload: float) -> None:
    assert least_mass_alight(LAUNCHER, 1, LIMIT) == pytest.approx(UPPER, rel=1e-12)
    found = ideal_delta_v_within(carrying(payload), LIMIT)
    assert found == pytest.approx(by_hand(payload), rel=1e-12)


def test_the_payload_that_lets_a_stage_just_burn_out_has_most_speed() -> None:
    best = payload_of_most_delta_v(LAUNCHER, LIMIT)
    assert best == pytest.approx(UPPER - 4200.0, rel=1e-9)
    able = [ideal_delta_v_within(carrying(best + off), LIMIT) for off in (-500.0, 0.0, 500.0)]
    assert able[0] < able[1] > able[2]
    assert payload_of_most_delta_v(LAUNCHER, None) == 0.0


def test_what_is_left_is_what_the_limit_does_not_let_be_burned() -> None:
    kept = dict(kept_unburned(carrying(4000.0), LIMIT))
    assert kept["b"] == pytest.approx(UPPER - 8200.0, rel=1e-9)
    assert kept["a"] == pytest.approx(LOWER - 19000.0 - 68200.0 - 1500.0, rel=1e-9)


def test_nothing_is_left_within_the_limit_that_leaves_nothing() -> None:
    loose = limit_that_leaves_nothing(LAUNCHER)
    assert loose == pytest.approx(600e3 / 8200.0, rel=1e-12)
    assert ideal_delta_v_within(LAUNCHER, loose) == LAUNCHER.ideal_delta_v
    assert ideal_delta_v_within(LAUNCHER, 0.999 * loose) < LAUNCHER.ideal_delta_v
    assert not list(kept_unburned(LAUNCHER, loose))


def test_an_engine_that_throttles_far_enough_leaves_nothing() -> None:
    deep = [replace(one, engine=throttling(one)) for one in LAUNCHER.stages]
    vehicle = replace(LAUNCHER, stages=tuple(deep))
    assert ideal_delta_v_within(vehicle, LIMIT) == vehicle.ideal_delta_v
    assert payload_of_most_delta_v(vehicle, LIMIT) == 0.0


def test_a_motor_burns_out_whatever_the_limit() -> None:
    motor = ao.SolidMotor(time=(0.0, 60.0), vacuum_thrust=(400 * kN, 400 * kN), vacuum_isp=285.0)
    vehicle = ao.Vehicle(
        name="Dunlin", payload_mass=100.0,
        stages=(ao.Stage(name="m", propellant_mass=motor.scaled_to(9000.0).mass_flow * 60.0,
                         dry_mass=900.0, engine=motor.scaled_to(9000.0)),),
    )  # fmt: skip
    assert ideal_delta_v_within(vehicle, 1.0) == vehicle.ideal_delta_v

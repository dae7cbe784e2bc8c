"""A vehicle whose thrust builds up is held on the pad until it exceeds the weight."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import trapezoid

import ascentopt as ao
from ascentopt.flight.phases.hold_down import RELEASE, held_down, seconds_held
from ascentopt.flight.phases.vertical_rise import pad_gravity, pad_pressure
from ascentopt.units import kN
from tests.flight.rockets import zero_start

MISSION = ao.Mission(
    body=ao.earth(), site=ao.LaunchSite(latitude=-0.2), orbit=ao.CircularOrbit(altitude=3e5)
)


def thrust_over_weight(vehicle: ao.Vehicle) -> float:
    core = vehicle.stages[0].engine
    parts = [(1, core), *((group.count, group.engine) for group in vehicle.boosters)]
    pressure = pad_pressure(MISSION)
    thrust = sum(
        n * (float(engine.vacuum_thrust_at(0.0)) - pressure * engine.effective_exit_area)
        for n, engine in parts
    )
    return thrust / (vehicle.lift_off_mass * pad_gravity(MISSION))


@pytest.mark.parametrize("name", ao.scenarios())
def test_what_lifts_off_at_once_is_left_alone(name: str) -> None:
    one = ao.scenarios()[name]
    assert held_down(one.vehicle, one.mission) is one.vehicle


@pytest.mark.parametrize("first", [0.0, 1.0, 100 * kN, 300 * kN])
def test_it_is_let_go_as_thrust_exceeds_weight_by_a_hundredth(first: float) -> None:
    vehicle = zero_start(first)
    gone = held_down(vehicle, MISSION)
    assert thrust_over_weight(gone) == pytest.approx(RELEASE, rel=1e-3)
    seconds = seconds_held(vehicle, MISSION)
    assert seconds is not None
    assert 0.0 < seconds < 0.4
    motor, left = vehicle.stages[0].engine, gone.stages[0].engine
    assert isinstance(motor, ao.SolidMotor)
    assert isinstance(left, ao.SolidMotor)
    assert left.burn_time == pytest.approx(motor.burn_time - seconds, abs=1e-12)
    flows = motor.mass_flow_at(np.linspace(0.0, seconds, 2001))
    burned = float(trapezoid(flows, dx=seconds / 2000))
    assert vehicle.lift_off_mass - gone.lift_off_mass == pytest.approx(burned, rel=1e-3)
    assert held_down(gone, MISSION) is gone  # more than its weight: not held again


def test_a_motor_after_some_seconds_burns_on_as_it_was() -> None:
    motor = zero_start(0.0).stages[0].engine
    assert isinstance(motor, ao.SolidMotor)
    late = motor.after(0.2)
    times = np.linspace(0.0, late.burn_time, 500)
    gap = np.abs(late.vacuum_thrust_at(times) - motor.vacuum_thrust_at(times + 0.2))
    assert gap[0] == pytest.approx(0.0, abs=1e-6)
    assert gap.max() < 0.02 * max(motor.vacuum_thrust)
    assert motor.after(0.0) is motor
    with pytest.raises(ao.InputError, match=r"seconds is 124.0 s; it must be before burn-out"):
        motor.after(motor.burn_time)


def test_boosters_and_the_core_beside_them_burn_on_the_pad() -> None:
    motor = ao.SolidMotor(time=[0, 0.3, 50], vacuum_thrust=[0, 9e5, 7e5], vacuum_isp=270.0)
    group = ao.BoosterGroup(
        name="side", count=2, propellant_mass=motor.propellant_mass, dry_mass=2e3, engine=motor
    )
    engine = ao.Engine(vacuum_thrust=300 * kN, vacuum_isp=300.0)
    core = ao.Stage(name="core", propellant_mass=3e4, dry_mass=3e3, engine=engine)
    vehicle = ao.Vehicle(name="x", payload_mass=1e3, stages=[core], boosters=[group])
    seconds = seconds_held(vehicle, MISSION)
    gone = held_down(vehicle, MISSION)
    assert seconds
    assert thrust_over_weight(gone) == pytest.approx(RELEASE, rel=1e-3)
    burned = core.propellant_mass - gone.stages[0].propellant_mass
    assert burned == pytest.approx(engine.mass_flow * seconds, rel=1e-12)
    late = replace(vehicle, boosters=[replace(group, ignition_time=1.0)])
    assert held_down(late, MISSION) is late


def test_it_flies_up_from_the_first_instant() -> None:
    vehicle = zero_start(0.0)
    law = ao.GravityTurn(
        plan=ao.FlightPlan(inserting_stage=2),
        kick=ao.Kick(at=ao.AtAirSpeed(60.0), angle=0.03),
        endings=(("third", ao.AtEmpty()),),
    )
    flown = ao.fly(vehicle, replace(MISSION, vertical_rise=None), law)
    times = np.linspace(0.0, 3.0, 301)
    heights = [float(flown.trajectory.at(time).altitude) for time in times]
    assert all(b > a - 1e-9 for a, b in pairwise(heights))
    assert flown.trajectory.at(0.0).mass == pytest.approx(
        held_down(vehicle, MISSION).lift_off_mass, rel=1e-12
    )


def test_a_part_in_1e10_of_the_payload_moves_the_release_by_no_more() -> None:
    vehicle = zero_start(0.0)
    heavier = replace(vehicle, payload_mass=vehicle.payload_mass * (1.0 + 1e-10))
    a, b = seconds_held(vehicle, MISSION), seconds_held(heavier, MISSION)
    assert a == pytest.approx(b, rel=1e-10)


def test_a_thrust_that_never_suffices_is_refused_by_its_greatest() -> None:
    vehicle = zero_start(0.0)
    heavy = replace(vehicle, payload_mass=40e3)
    assert seconds_held(heavy, MISSION) is None
    with pytest.raises(ao.InputError, match=r"thrust at lift-off is \d{3}\..* kN .*must exceed"):
        ao.optimize(heavy, MISSION)


def test_a_motor_from_zero_burns_by_its_mass_as_long_as_by_its_clock() -> None:
    """The curve by what is burned, of a motor that nothing but its mass tells the time."""
    motor = ao.SolidMotor(time=[0, 1, 30, 60], vacuum_thrust=[0, 8e4, 9e4, 4e4], vacuum_isp=280.0)
    table = motor.by_burned
    burned, step, time = 0.0, 1e-3, 0.0
    while burned < motor.propellant_mass * (1.0 - 1e-6) and time < 70.0:
        middle = burned + 0.5 * step * float(table(burned)) / motor.exhaust_speed
        burned += step * float(table(middle)) / motor.exhaust_speed
        time += step
    assert time == pytest.approx(motor.burn_time, abs=0.02)

"""Stages, boosters, fairing, aerodynamics and the vehicle they make."""

from __future__ import annotations

import pickle
from dataclasses import replace
from math import log
from typing import Any

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.rocket import (
    Aerodynamics,
    BoosterGroup,
    DragCurve,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
    burns,
)
from ascentopt.units import STANDARD_GRAVITY, kN, tonne

ENGINE = Engine(vacuum_thrust=900 * kN, vacuum_isp=310.0, sea_level_isp=280.0)
UPPER = Engine(vacuum_thrust=80 * kN, vacuum_isp=345.0)
FIRST = Stage(name="first", propellant_mass=40 * tonne, dry_mass=3 * tonne, engine=ENGINE)
SECOND = Stage(
    name="second", propellant_mass=8 * tonne, dry_mass=0.8 * tonne, engine=UPPER, restarts=1
)
MOTOR = SolidMotor(time=(0, 5, 60, 75), vacuum_thrust=(6e5, 7e5, 6e5, 3e5), vacuum_isp=280.0)
BAD: list[Any] = [float("nan"), float("inf"), -3.0, "heavy", None]


def strap_ons(**changes: Any) -> BoosterGroup:
    engine = Engine(vacuum_thrust=300 * kN, vacuum_isp=270.0)
    given = {"name": "strap-ons", "count": 2, "propellant_mass": 5000.0, "dry_mass": 600.0}
    return BoosterGroup(**{**given, "engine": engine, **changes})


def vehicle(**changes: Any) -> Vehicle:
    given = {"name": "Turnstone", "payload_mass": 1100.0, "stages": (FIRST, SECOND)}
    return Vehicle(**{**given, **changes})


def solid_stage(mass: float, **changes: Any) -> Stage:
    return Stage(
        **{"name": "s", "propellant_mass": mass, "dry_mass": 900.0, "engine": MOTOR, **changes}
    )


def test_masses_add_up() -> None:
    rocket = vehicle(fairing=Fairing(mass=300.0), boosters=[strap_ons()])
    assert rocket.lift_off_mass == 1100 + 300 + 43000 + 8800 + 2 * 5600
    assert rocket.mass_above(-1) == 1100 + 300 + 43000 + 8800
    assert rocket.mass_above(0) == 1100 + 300 + 8800
    assert rocket.mass_above(1) == 1100 + 300
    assert rocket.propellant_mass == 48000 + 10000
    assert rocket.fairing_mass == 300
    assert vehicle().fairing_mass == 0


def test_burn_times_are_propellant_over_flow() -> None:
    assert FIRST.burn_time == pytest.approx(40000 * 310 * STANDARD_GRAVITY / 900e3)
    group = strap_ons(ignition_time=10.0)
    assert group.burn_time == pytest.approx(5000 * 270 * STANDARD_GRAVITY / 300e3)
    assert group.burn_out_time == 10.0 + group.burn_time
    assert group.mass == 11200.0


def test_ideal_delta_v_is_the_rocket_equation() -> None:
    rocket = vehicle(fairing=Fairing(mass=300.0))
    g = STANDARD_GRAVITY
    first = 310 * g * log(53200 / 13200)
    second = 345 * g * log(9900 / 1900)  # the fairing is gone by then
    assert rocket.ideal_delta_v == pytest.approx(first + second, rel=1e-12)


def test_boosters_burn_beside_the_first_stage() -> None:
    rocket = vehicle(boosters=[strap_ons()])
    beside, alone, _ = burns(rocket)
    group = rocket.boosters[0]
    assert beside.duration == pytest.approx(group.burn_time)
    assert beside.thrust == 900e3 + 2 * 300e3
    burnt = (FIRST.engine.mass_flow + 2 * group.engine.mass_flow) * group.burn_time
    assert beside.initial_mass - beside.final_mass == pytest.approx(burnt)
    assert alone.initial_mass == pytest.approx(beside.final_mass - 2 * 600.0)
    assert alone.final_mass == pytest.approx(1100 + 8800 + 3000)
    # Joint exhaust speed: total thrust over total flow.
    speed = 1500e3 / (burnt / group.burn_time)
    assert beside.delta_v == pytest.approx(speed * log(beside.initial_mass / beside.final_mass))


def test_two_groups_and_a_late_ignition_make_the_right_burns() -> None:
    # Four-phase launcher of D. A. Benson, PhD thesis, MIT, 2004: six boosters at lift-off, three
    # more when these are out, the first stage to 261 s, the second for 700 s.
    g = STANDARD_GRAVITY

    def engine(thrust: float, propellant: float, time: float) -> Engine:
        return Engine(vacuum_thrust=thrust, vacuum_isp=thrust * time / (g * propellant))

    booster: dict[str, Any] = {
        "propellant_mass": 17010.0,
        "dry_mass": 2280.0,
        "engine": engine(628500.0, 17010.0, 75.2),
    }
    stages = (
        Stage(name="1", propellant_mass=95550.0, dry_mass=8830.0,
              engine=engine(1083100.0, 95550.0, 261.0)),
        Stage(name="2", propellant_mass=16820.0, dry_mass=2480.0,
              engine=engine(110094.0, 16820.0, 700.0)),
    )  # fmt: skip
    rocket = Vehicle(
        name="four phases",
        payload_mass=4164.0,
        stages=stages,
        boosters=(
            BoosterGroup(name="six", count=6, **booster),
            BoosterGroup(name="three", count=3, ignition_time=75.2, **booster),
        ),
    )
    assert rocket.lift_off_mass == 301454.0
    found = burns(rocket)
    assert [burn.duration for burn in found] == pytest.approx([75.2, 75.2, 110.6, 700.0])
    # Masses after each staging, by hand from the published data.
    flow = 95550 / 261
    second = 301454 - 6 * 19290 - 75.2 * flow
    assert found[1].initial_mass == pytest.approx(second)
    assert found[2].initial_mass == pytest.approx(second - 3 * 19290 - 75.2 * flow)
    assert found[3].initial_mass == pytest.approx(4164 + 19300)


def test_a_motor_that_nearly_fits_is_scaled_and_the_result_says_so() -> None:
    mass = 1.003 * MOTOR.propellant_mass
    stage = solid_stage(mass)
    assert isinstance(stage.engine, SolidMotor)
    assert stage.engine.propellant_mass == pytest.approx(mass, rel=1e-12)
    assert stage.engine.vacuum_thrust[0] == pytest.approx(1.003 * 6e5)
    assert stage.burn_time == 75.0
    assert replace(stage, dry_mass=900.0) == stage  # scaling again changes nothing
    exact = solid_stage(MOTOR.propellant_mass)
    assert exact.engine == MOTOR


@pytest.mark.parametrize("factor", [0.9, 0.994, 1.006, 2.0])
def test_a_motor_that_does_not_fit_is_refused_with_both_masses(factor: float) -> None:
    mass = round(factor * MOTOR.propellant_mass)
    with pytest.raises(InputError, match=r"must agree within 0\.5 %") as caught:
        solid_stage(float(mass))
    assert f"{float(mass)!r} kg" in str(caught.value)
    assert f"{MOTOR.propellant_mass:.6g} kg" in str(caught.value)
    with pytest.raises(InputError, match="BoosterGroup 'strap-ons': propellant_mass is "):
        strap_ons(engine=MOTOR, propellant_mass=float(mass))


def test_a_motor_cannot_restart() -> None:
    with pytest.raises(InputError, match="restarts is 1; it must be 0 with a SolidMotor"):
        solid_stage(MOTOR.propellant_mass, restarts=1)


@pytest.mark.parametrize("field", ["propellant_mass", "dry_mass"])
@pytest.mark.parametrize("value", [*BAD, 0.0])
def test_stages_and_boosters_refuse_nonsense(field: str, value: Any) -> None:
    with pytest.raises(InputError, match=f"Stage 'first': {field} is "):
        replace(FIRST, **{field: value})
    with pytest.raises(InputError, match=f"BoosterGroup 'strap-ons': {field} is "):
        strap_ons(**{field: value})


def test_an_error_names_thing_value_rule_and_fix() -> None:
    with pytest.raises(InputError) as caught:
        replace(FIRST, dry_mass=-3)
    assert str(caught.value) == (
        "Stage 'first': dry_mass is -3 kg; it must be positive. "
        "Give the mass of the empty stage in kilograms."
    )


@pytest.mark.parametrize(
    ("part", "change", "text"),
    [
        (FIRST, {"restarts": -1}, "restarts is -1; it must be a whole number, 0 or more"),
        (FIRST, {"restarts": 1.5}, "restarts is 1.5; it must be a whole number"),
        (FIRST, {"ignition_delay": -1.0}, "ignition_delay is -1.0 s; it must be zero or more"),
        (FIRST, {"engine": 900e3}, "engine is 900000.0; it must be of type Engine or SolidMotor"),
        (FIRST, {"name": " "}, "name is ' '; it must be a text that is not empty"),
        (strap_ons(), {"count": 0}, "count is 0; it must be a whole number, 1 or more"),
        (strap_ons(), {"count": True}, "count is True; it must be a whole number"),
        (strap_ons(), {"ignition_time": -1.0}, "ignition_time is -1.0 s; it must be zero or more"),
        (Fairing(mass=1.0), {"mass": 0.0}, "Fairing: mass is 0.0 kg; it must be positive"),
        (Fairing(mass=1.0), {"max_heating": 0.0}, r"max_heating is 0.0 W/m\^2; it must be pos"),
        (vehicle(), {"payload_mass": -1.0}, "payload_mass is -1.0 kg; it must be zero or more"),
        (vehicle(), {"stages": ()}, "stages is empty; it must hold a stage"),
        (vehicle(), {"stages": FIRST}, r"stages is a Stage 'first'; it must be of type list"),
        (vehicle(), {"stages": (FIRST, ENGINE)}, r"stages\[1\] is an Engine; it must be of type"),
        (vehicle(), {"stages": (FIRST, FIRST)}, "two parts are named 'first'; names must differ"),
        (vehicle(), {"boosters": (strap_ons(name="second"),)}, "two parts are named 'second'"),
        (vehicle(), {"fairing": 300.0}, "fairing is 300.0; it must be of type Fairing"),
        (vehicle(), {"aerodynamics": 0.3}, "aerodynamics is 0.3; it must be of type Aerodynamics"),
        (
            vehicle(),
            {"boosters": (strap_ons(ignition_time=120.0),)},
            "burns out at 164.* s, but stage 'first' beside it can burn to 135.* s at the latest",
        ),
    ],
)
def test_what_contradicts_itself_is_refused(part: Any, change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        replace(part, **change)


def test_lists_become_tuples_and_the_vehicle_is_hashable() -> None:
    rocket = vehicle(stages=[FIRST, SECOND], boosters=[strap_ons()])
    assert rocket == vehicle(boosters=(strap_ons(),))
    assert hash(rocket) == hash(vehicle(boosters=(strap_ons(),)))


masses = st.floats(1e3, 1e4)


@given(st.floats(1e4, 1e5), masses, masses, st.integers(0, 4), st.integers(1, 9))
def test_vehicles_survive_a_round_trip(
    propellant: float, dry: float, payload: float, restarts: int, count: int
) -> None:
    stage = Stage(
        name="only", propellant_mass=propellant, dry_mass=dry, engine=UPPER, restarts=restarts
    )
    group = strap_ons(count=count, propellant_mass=500.0)
    aero = Aerodynamics(
        reference_area=1e-3 * dry, drag_coefficient=DragCurve(mach=(0, 1, 3), cd=(0.2, 0.5, 0.3))
    )
    rocket = Vehicle(
        name="x", payload_mass=payload, stages=(stage,), boosters=(group,), aerodynamics=aero
    )
    copy = pickle.loads(pickle.dumps(rocket))
    assert copy == rocket
    assert hash(copy) == hash(rocket)
    for part in (stage, group, aero):
        assert eval(repr(part)) == part
    assert len(repr(rocket)) < 120


def test_it_prints_a_table_that_a_person_can_read() -> None:
    rocket = vehicle(boosters=[strap_ons()], fairing=Fairing(mass=300.0))
    text = str(rocket)
    assert "Vehicle 'Turnstone': 64400 kg at lift-off" in text
    assert f"ideal delta-v {rocket.ideal_delta_v:.0f} m/s" in text
    rows = {line.split("  ")[1].strip(): line.split() for line in text.splitlines()[1:]}
    assert rows["2 x strap-ons"][-5:] == ["5000", "600", "300.0", "270.0", "44.1"]
    assert rows["second"][1:] == ["9900", "0.82", "5585", "338.3"]
    assert all(len(line) < 90 for line in text.splitlines())
    assert "40000 kg propellant" in str(FIRST)
    assert "burning 0.0 to 44.1 s" in str(strap_ons())


def test_a_drag_curve_holds_its_ends_and_keeps_to_its_points() -> None:
    curve = DragCurve(mach=[0.5, 0.8, 1.1, 2.0, 5.0], cd=[0.3, 0.32, 0.6, 0.45, 0.25])
    assert curve(np.array(curve.mach)) == pytest.approx(curve.cd, abs=1e-14)
    assert curve(0.0) == pytest.approx(0.3)
    assert curve(25.0) == pytest.approx(0.25)
    fine = curve(np.linspace(0.0, 10.0, 5001))
    assert fine.max() <= 0.6 + 1e-12
    assert fine.min() >= 0.25 - 1e-12


def test_drag_coefficient_takes_numbers_and_symbols() -> None:
    flat = Aerodynamics(reference_area=3.0, drag_coefficient=0.5)
    assert flat.drag_coefficient_at(2.0) == 0.5
    curve = DragCurve(mach=[0.0, 1.0, 5.0], cd=[0.3, 0.6, 0.25])
    curved = Aerodynamics(reference_area=3.0, drag_coefficient=curve, normal_force_slope=2.0)
    x = ca.SX.sym("x")
    f = ca.Function("f", [x], [curved.drag_coefficient_at(x), flat.drag_coefficient_at(x)])
    assert float(f(1.7)[0]) == pytest.approx(curved.drag_coefficient_at(1.7), rel=1e-13)
    assert float(f(1.7)[1]) == 0.5


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"reference_area": 0.0}, r"reference_area is 0.0 m\^2; it must be positive"),
        ({"drag_coefficient": -0.1}, "drag_coefficient is -0.1; it must be zero or more"),
        ({"drag_coefficient": "low"}, "drag_coefficient is 'low'; it must be of type float or int"),
        ({"normal_force_slope": -1.0}, "normal_force_slope is -1.0 1/rad; it must be zero or more"),
        ({"normal_force_slope": float("nan")}, "normal_force_slope is nan 1/rad; it must be a fin"),
    ],
)
def test_bad_aerodynamics_are_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        Aerodynamics(**{"reference_area": 3.0, "drag_coefficient": 0.5, **change})


@pytest.mark.parametrize(
    ("mach", "cd", "text"),
    [
        ((0.0, 1.0), (0.3, -0.1), r"cd\[1\] is -0.1; it must be zero or more"),
        ((-1.0, 1.0), (0.3, 0.1), r"mach\[0\] is -1.0; it must be zero or more"),
        ((0.0, 1.0, 0.5), (0.3, 0.1, 0.2), r"mach\[2\] is 0.5; it must be above the value before"),
        ((0.0,), (0.3,), "mach has 1 values; it must have at least 2. For a constant"),
        ((0.0, 1.0), (0.3,), "mach has 2, cd has 1 values; they must be equally many"),
    ],
)
def test_bad_drag_curves_are_refused(mach: Any, cd: Any, text: str) -> None:
    with pytest.raises(InputError, match=text):
        DragCurve(mach=mach, cd=cd)

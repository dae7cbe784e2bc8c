"""Whether a motor, or boosters, which nothing throttles, break the limit on acceleration."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.phases.vertical_rise import pad_pressure
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, DragCurve, Propulsion, SolidMotor, Vehicle
from ascentopt.typing import Floats
from ascentopt.units import STANDARD_GRAVITY

PLACES = 200
"""Of a thrust curve: its greatest value over the mass is found to a ten-thousandth or so."""


def check_motors(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse a limit on acceleration below what a motor or boosters give all that they may carry.

    Fairing and payload aboard, in the densest air there is, held back by all the drag that the
    limit on dynamic pressure allows; a motor with all boosters dropped, boosters beside a core at
    its least throttle. Vehicles of motors alone are left out, which may carry ballast.

    Raises:
        InputError: naming motor or boosters and limit.
    """
    limit = mission.limits.axial_acceleration
    if limit is None:
        return
    thickest, drag = pad_pressure(mission), _most_drag(vehicle, mission)
    pushed = _peak_beside_boosters(vehicle, thickest * _exit_area(vehicle) + drag)
    if pushed > limit:
        raise InputError(
            f"FlightLimits: axial_acceleration is {limit:.3f} m/s^2 ({_in_g(limit)}), but the "
            f"boosters of vehicle {vehicle.name!r}, which cannot be throttled, and the stage "
            f"beside them accelerate it by at least {pushed:.3f} m/s^2 ({_in_g(pushed)}) before "
            "they burn out. Raise the limit, give them less thrust, or let that stage throttle "
            "further."
        )
    for index, motor in _motors(vehicle):
        held_back = thickest * motor.effective_exit_area + drag
        least = _peak(vehicle, index, motor, held_back)
        if least > limit:
            raise InputError(
                f"FlightLimits: axial_acceleration is {limit:.3f} m/s^2 ({_in_g(limit)}), but the "
                f"motor of stage {vehicle.stages[index].name!r}, which cannot be throttled, gives "
                f"what it carries at least {least:.3f} m/s^2 ({_in_g(least)}) before it burns out. "
                "Raise the limit, give the motor less thrust towards its end, or let it carry more."
            )


def motors_that_need_drag(vehicle: Vehicle, mission: Mission) -> Iterator[str]:
    """What breaks the limit on acceleration where no air holds it back, in words.

    Motors, and boosters beside a core at its least throttle.
    """
    limit = mission.limits.axial_acceleration
    if limit is None:
        return
    pushed = _peak_beside_boosters(vehicle, held_back=0.0)
    if pushed > limit:
        yield (
            f"boosters and the stage beside them accelerate the vehicle by {_in_g(pushed)} or so, "
            f"and the limit on axial acceleration is {_in_g(limit)}"
        )
    for index, motor in _motors(vehicle):
        reached = _peak(vehicle, index, motor, held_back=0.0)
        if reached > limit:
            yield (
                f"the motor of stage {vehicle.stages[index].name!r} gives what it carries up to "
                f"{_in_g(reached)} or so, and the limit on axial acceleration is {_in_g(limit)}"
            )


def payload_that_motors_bear(vehicle: Vehicle, mission: Mission) -> float:
    """The least payload in kg with which no motor breaks the limit where no air holds it back.

    None, 0, where none does without any.
    """
    limit = mission.limits.axial_acceleration
    if limit is None:
        return 0.0
    empty = replace(vehicle, payload_mass=0.0)
    pushed = (_burn_alone(empty, index, motor) for index, motor in _motors(vehicle))
    least = [float((thrust / limit - mass).max()) for thrust, mass in pushed]
    return max((0.0, *least))


def _motors(vehicle: Vehicle) -> Iterator[tuple[int, SolidMotor]]:
    """Index and motor of stages; none where all are motors, which may carry ballast."""
    engines = [stage.engine for stage in vehicle.stages]
    motors = [(k, engine) for k, engine in enumerate(engines) if isinstance(engine, SolidMotor)]
    yield from motors if len(motors) < len(engines) else ()


def _peak(vehicle: Vehicle, index: int, motor: SolidMotor, held_back: float) -> float:
    """The greatest acceleration along the burn, with a force in N against it, m/s^2."""
    thrust, mass = _burn_alone(vehicle, index, motor)
    return float(((thrust - held_back) / mass).max())


def _burn_alone(vehicle: Vehicle, index: int, motor: SolidMotor) -> tuple[Floats, Floats]:
    """Thrust in vacuum, N, and mass, kg, along the burn, from where no booster hangs on."""
    times = np.linspace(_alone_from(vehicle, index, motor), motor.burn_time, PLACES + 1)
    vacuum, burned = np.array(motor.vacuum_thrust_at(times)), _burned(motor, times)
    mass = vehicle.mass_above(index) + vehicle.stages[index].dry_mass + burned[-1] - burned
    return vacuum, mass


def _peak_beside_boosters(vehicle: Vehicle, held_back: float) -> float:
    """The greatest acceleration while boosters burn, with a force in N against it, m/s^2.

    Of a core that runs at its least throttle all the time; 0 without boosters, and beside a core
    that is a motor, whose own curve says it.
    """
    core = vehicle.stages[0].engine
    if not vehicle.boosters or isinstance(core, SolidMotor):
        return 0.0
    lit = vehicle.stages[0].ignition_delay
    times = np.linspace(0.0, max(group.burn_out_time for group in vehicle.boosters), PLACES + 1)
    alight = core.min_throttle * np.clip(times - lit, 0.0, vehicle.stages[0].burn_time)
    thrust = np.where(times >= lit, core.min_throttle * core.vacuum_thrust, 0.0)
    mass = vehicle.lift_off_mass - core.mass_flow * alight
    for group in vehicle.boosters:
        burned, own = _burned_and_thrust(group, times)
        gone = np.where(times > group.burn_out_time, group.count * group.dry_mass, 0.0)
        thrust, mass = thrust + own, mass - burned - gone
    return float(((thrust - held_back) / mass).max())


def _burned_and_thrust(group: BoosterGroup, times: Floats) -> tuple[Floats, Floats]:
    """What a group has burned, kg, and its thrust in vacuum, N, at times after lift-off."""
    own = np.clip(times - group.ignition_time, 0.0, group.burn_time)
    burning = (times >= group.ignition_time) & (times <= group.burn_out_time)
    thrust = np.broadcast_to(np.array(group.engine.vacuum_thrust_at(own)), own.shape)
    return group.count * _burned(group.engine, own), np.where(burning, group.count * thrust, 0.0)


def _burned(engine: Propulsion, times: Floats) -> Floats:
    """Kg burned from the first of some times after ignition up to each."""
    flows = np.broadcast_to(np.array(engine.mass_flow_at(times)), times.shape)
    steps = 0.5 * (flows[1:] + flows[:-1]) * np.diff(times)
    return np.concatenate(([0.0], np.cumsum(steps)))


def _exit_area(vehicle: Vehicle) -> float:
    """Of all that may burn beside boosters, m^2."""
    beside = (group.count * group.engine.effective_exit_area for group in vehicle.boosters)
    return vehicle.stages[0].engine.effective_exit_area + sum(beside)


def _alone_from(vehicle: Vehicle, index: int, motor: SolidMotor) -> float:
    """Seconds after ignition from which no booster hangs on, or the whole burn."""
    if index > 0:
        return 0.0
    lit = vehicle.stages[0].ignition_delay
    last = max((group.burn_out_time for group in vehicle.boosters), default=lit)
    return min(max(last - lit, 0.0), motor.burn_time)


def _most_drag(vehicle: Vehicle, mission: Mission) -> float:
    """N that the air holds back at most; none without air, any where its pressure has no limit."""
    aerodynamics, most = vehicle.aerodynamics, mission.limits.dynamic_pressure
    if mission.body.atmosphere is None or aerodynamics is None:
        return 0.0
    if most is None:
        return inf
    drag = aerodynamics.drag_coefficient
    coefficient = max(drag.cd) if isinstance(drag, DragCurve) else drag
    return most * aerodynamics.reference_area * coefficient


def _in_g(value: float) -> str:
    return f"{value / STANDARD_GRAVITY:.3f} g"

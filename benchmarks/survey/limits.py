"""Limits that suit a vehicle and a body, from loose to biting."""

from __future__ import annotations

from math import e, log

from ascentopt.mission import FlightLimits, Mission
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import STANDARD_GRAVITY, deg, km
from benchmarks.survey.draw import Draw


def draw_limits(draw: Draw, vehicle: Vehicle, mission: Mission, push: float) -> FlightLimits:
    """Limits for a vehicle of lift-off thrust-to-weight `push`; q alpha keeps its default."""
    if mission.body.atmosphere is None:
        return FlightLimits(axial_acceleration=_axial(draw, vehicle))
    peak = straight_up_pressure(mission, push)
    return FlightLimits(
        dynamic_pressure=_pressure(draw, vehicle, peak),
        angle_of_attack=draw.uniform(5.0, 12.0) * deg if draw.chance(0.1) else None,
        axial_acceleration=_axial(draw, vehicle),
        staging_dynamic_pressure=_staging(draw, vehicle, peak),
    )


def straight_up_pressure(mission: Mission, push: float) -> float:
    """Peak dynamic pressure in Pa of a vertical climb at constant acceleration, no drag.

    Half rho v^2 with v^2 = 2 a h and rho falling exponentially peaks one scale height up:
    rho0 a H / e.
    """
    air, body = mission.body.atmosphere, mission.body
    if air is None:
        return 0.0
    gravity = body.gravitational_parameter / body.radius**2
    density = air.density(0.0)
    scale_height = 10 * km / log(density / air.density(10 * km))
    return float(density * (push - 1.0) * gravity * scale_height / e)


def _pressure(draw: Draw, vehicle: Vehicle, peak: float) -> float | None:
    """None, loose, or biting; a vehicle that cannot throttle is spared the worst."""
    if draw.chance(0.25):
        return None
    least = 1.1 if vehicle.stages[0].engine.min_throttle < 0.8 else 1.7
    return max(peak * draw.log_uniform(least, 6.0), 100.0)


def _staging(draw: Draw, vehicle: Vehicle, peak: float) -> float | None:
    """Only without boosters, which burn out deep in the air."""
    if vehicle.boosters or len(vehicle.stages) == 1 or not draw.chance(0.2):
        return None
    return max(peak * draw.log_uniform(0.05, 0.6), 50.0)


def _axial(draw: Draw, vehicle: Vehicle) -> float | None:
    """Only where every engine throttles, and never below what the least throttle gives."""
    engines = [stage.engine for stage in vehicle.stages]
    fixed = any(isinstance(x, SolidMotor) or x.min_throttle > 0.8 for x in engines)
    if fixed or vehicle.boosters or not draw.chance(0.6):
        return None
    least = max(
        stage.engine.min_throttle * burn.thrust / burn.final_mass
        for stage, burn in zip(vehicle.stages, burns(vehicle), strict=True)
    )
    lift_off = burns(vehicle)[0].thrust / vehicle.lift_off_mass
    floor = max(1.1 * least, 1.3 * lift_off)
    return floor * draw.uniform(1.0, 1.8) if floor < 8 * STANDARD_GRAVITY else None

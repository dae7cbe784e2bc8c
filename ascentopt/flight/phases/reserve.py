"""How much propellant the inserting stage must keep."""

from __future__ import annotations

from math import exp, sqrt

from ascentopt.errors import InputError
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import DeorbitReserve, Mission, PropellantReserve
from ascentopt.rocket import SolidMotor, Vehicle


def reserve_of(vehicle: Vehicle, mission: Mission, plan: FlightPlan) -> float:
    """Propellant in kg that must be left in the stage which the plan inserts with.

    A deorbit is reckoned as one impulse at the apoapsis, with its allowance; the propellant is what
    brings the stage down with its last drop. With more than that aboard the same burn takes more,
    but never more than there is.

    Raises:
        InputError: when the stage cannot hold the reserve, or has no restart left for it.
    """
    reserve, stage = mission.reserve, vehicle.stages[plan.inserting_stage]
    if reserve is None:
        return 0.0
    if isinstance(stage.engine, SolidMotor):
        raise InputError(
            f"Mission: reserve ({reserve}) cannot be kept by stage {stage.name!r}, whose solid "
            "motor burns to its end. Keep none, or insert with another stage."
        )
    needed = _deorbit(vehicle, mission, plan, reserve)
    if needed >= stage.propellant_mass:
        raise InputError(
            f"Mission: reserve ({reserve}) takes {needed:.6g} kg of propellant; stage "
            f"{stage.name!r} of vehicle {vehicle.name!r} holds {stage.propellant_mass:.6g} kg. "
            "Give the stage more propellant, or keep less."
        )
    return needed


def restarts_kept(mission: Mission) -> int:
    """Restarts of the inserting stage that the ascent may not use."""
    return 1 if isinstance(mission.reserve, DeorbitReserve) else 0


def _deorbit(
    vehicle: Vehicle,
    mission: Mission,
    plan: FlightPlan,
    reserve: PropellantReserve | DeorbitReserve,
) -> float:
    if isinstance(reserve, PropellantReserve):
        return reserve.mass
    stage = vehicle.stages[plan.inserting_stage]
    if stage.restarts < plan.restarts + 1:
        raise InputError(
            f"Mission: reserve ({reserve}) needs a restart after the insertion; stage "
            f"{stage.name!r} has {stage.restarts} restarts, and the ascent ({plan}) takes "
            f"{plan.restarts}. Give the stage one more restart (Stage.restarts)."
        )
    down = stage.dry_mass + (_carried(vehicle, plan) if reserve.with_payload else 0.0)
    exhaust = stage.engine.exhaust_speed
    return down * (exp((1.0 + reserve.allowance) * _impulse(mission, reserve) / exhaust) - 1.0)


def _carried(vehicle: Vehicle, plan: FlightPlan) -> float:
    """What stands on the inserting stage in orbit, kg."""
    gone = vehicle.fairing.mass if vehicle.fairing is not None and plan.fairing_arc else 0.0
    return vehicle.mass_above(plan.inserting_stage) - gone


def _impulse(mission: Mission, reserve: DeorbitReserve) -> float:
    """Speed in m/s taken off at the apoapsis (vis-viva)."""
    body, mu = mission.body, mission.body.gravitational_parameter
    high = mission.orbit.apoapsis_radius_around(body)
    low = mission.orbit.periapsis_radius_around(body)
    if high is None or low is None:
        raise InputError(
            f"Mission: reserve ({reserve}) depends on the size and shape of the orbit, but the "
            f"{mission.orbit} leaves them open. Give both, or a PropellantReserve."
        )
    new = body.radius + reserve.periapsis_altitude
    before, after = (sqrt(2.0 * mu * (1.0 / high - 1.0 / (high + r))) for r in (low, new))
    return before - after

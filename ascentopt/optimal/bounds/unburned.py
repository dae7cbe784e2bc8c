"""What a limit on acceleration leaves unburned: least thrust over the limit is a least mass.

An engine that throttles no further stops at the mass m with T / m = limit, and what it has left is
dead weight, dropped with its stage or carried to the orbit. With more payload less of it is left:
an upper stage that must keep m burns a kilogram more for each one it carries, and is the faster.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import log

from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.performance import Burn, burns


def least_mass_alight(vehicle: Vehicle, stage: int, limit: float | None) -> float:
    """Mass in kg with which a stage alone keeps a limit on acceleration in vacuum, m/s^2.

    None for no limit; solid motors, which nothing stops, keep none.
    """
    engine = vehicle.stages[stage].engine
    if limit is None or isinstance(engine, SolidMotor):
        return 0.0
    return engine.min_throttle * engine.vacuum_thrust / limit


def limit_that_leaves_nothing(vehicle: Vehicle) -> float:
    """The least limit on acceleration with which every stage may burn out, m/s^2."""
    return max((least_mass_alight(vehicle, k, 1.0) / end for k, end in _ends(vehicle)), default=0.0)


def ideal_delta_v_within(vehicle: Vehicle, limit: float | None) -> float:
    """Ideal delta-v in m/s with what a limit on acceleration lets be burned."""
    lost = sum(_lost(vehicle, k, burn, limit) for k, burn in _alone(vehicle))
    return vehicle.ideal_delta_v - lost if lost > 0.0 else vehicle.ideal_delta_v


def payload_of_most_delta_v(vehicle: Vehicle, limit: float | None) -> float:
    """Payload in kg with the greatest ideal delta-v within the limit: none where nothing is left.

    It is one with which a stage burns out just so: between two of those the ideal delta-v is
    convex, since the mass at a burn-out is less than any at an ignition. None is lighter than the
    least with which every stage can be lit.
    """
    empty, least = replace(vehicle, payload_mass=0.0), payload_that_lets_all_be_lit(vehicle, limit)
    just_so = [least_mass_alight(vehicle, k, limit) - end for k, end in _ends(empty)]
    return max(
        (least, *(one for one in just_so if one > least)),
        key=lambda one: ideal_delta_v_within(replace(vehicle, payload_mass=one), limit),
    )


def payload_that_lets_all_be_lit(vehicle: Vehicle, limit: float | None) -> float:
    """The least payload in kg with which each stage alone keeps the limit as its engine is lit."""
    empty = replace(vehicle, payload_mass=0.0)
    beyond = (least_mass_alight(vehicle, k, limit) - own.initial_mass for k, own in _alone(empty))
    return max((0.0, *beyond))


def kept_unburned(vehicle: Vehicle, limit: float | None) -> Iterator[tuple[str, float]]:
    """Names of stages, and kg of propellant in each that the limit does not let be burned."""
    for k, end in _ends(vehicle):
        kept = min(least_mass_alight(vehicle, k, limit) - end, vehicle.stages[k].propellant_mass)
        if kept > 0.0:
            yield vehicle.stages[k].name, kept


def _lost(vehicle: Vehicle, stage: int, burn: Burn, limit: float | None) -> float:
    """Speed in m/s of what a stage may not burn."""
    end = min(max(least_mass_alight(vehicle, stage, limit), burn.final_mass), burn.initial_mass)
    return vehicle.stages[stage].engine.exhaust_speed * log(end / burn.final_mass)


def _ends(vehicle: Vehicle) -> Iterator[tuple[int, float]]:
    """Stages, and their mass in kg as they burn out with nothing beside them."""
    yield from ((k, burn.final_mass) for k, burn in _alone(vehicle))


def _alone(vehicle: Vehicle) -> Iterator[tuple[int, Burn]]:
    """Stages with the last of their burns, where nothing burns beside them any more."""
    last = {burn.name: burn for burn in burns(vehicle)}
    for k, stage in enumerate(vehicle.stages):
        if stage.name in last:
            yield k, last[stage.name]

"""A tank that may be overdrawn: part of the last stage's dry mass and of the payload as propellant.

The greatest mass does not need to be told how much propellant there is. Without that bound every
structure can be flown to its end, and limits can be brought down, whatever they cost; what it burns
too much is asked last. With it, a step towards the limits fails where the tank is empty, and no
step is small enough. And the speed that is missing as an impulse at the insertion says nothing
about a long coast before the last burn: what it lacks it lacks before the coast, falls back, and
the program ends in a flight that does not coast.
"""

from __future__ import annotations

from dataclasses import replace
from math import log

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import STANDARD_GRAVITY

RELAXED_SHARE = 0.5
"""Of dry mass and payload: enough for 0.7 times the exhaust speed, some 2 km/s."""


def relaxed_vehicle(vehicle: Vehicle) -> Vehicle:
    """The vehicle with as much mass in the same places, more of it propellant of the last stage."""
    *below, last = vehicle.stages
    credit = RELAXED_SHARE * (last.dry_mass + vehicle.payload_mass)
    deep = replace(
        last,
        dry_mass=(1.0 - RELAXED_SHARE) * last.dry_mass,
        propellant_mass=last.propellant_mass + credit,
    )
    payload = (1.0 - RELAXED_SHARE) * vehicle.payload_mass
    return replace(vehicle, payload_mass=payload, stages=(*below, deep))


def remaining_delta_v(vehicle: Vehicle, sequence: Sequence, final_mass: float) -> float:
    """Speed in m/s that is left in the tank at insertion; negative where it is overdrawn."""
    last = sequence.arcs[-1]
    return exhaust_speed(vehicle, last.stage) * log(final_mass / last.least_mass)


def exhaust_speed(vehicle: Vehicle, stage: int = -1) -> float:
    """Of a stage in vacuum, m/s."""
    return vehicle.stages[stage].engine.vacuum_isp * STANDARD_GRAVITY


def can_relax_tank(vehicle: Vehicle) -> bool:
    """Whether the last stage burns longer with more propellant: a solid motor does not."""
    return not isinstance(vehicle.stages[-1].engine, SolidMotor)

"""Whether any vehicle within the bounds leaves the pad."""

from __future__ import annotations

from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.hold_down import held_down, seconds_held
from ascentopt.flight.phases.vertical_rise import pad_gravity
from ascentopt.flight.plan import direct
from ascentopt.mission import Mission
from ascentopt.optimal.bounds.lift_off import pad_thrust
from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import FreeReferenceArea, FreeThrust


def check_lift(design: DesignSpace, mission: Mission) -> None:
    """Refuse a free thrust of the first stage whose most does not lift the lightest vehicle.

    Raises:
        InputError: naming the bound, thrust and weight.
    """
    first = design.vehicle.stages[0].name
    for one in design.free:
        if isinstance(one, FreeThrust) and one.stage == first:
            vehicles = _lightest(design, one)
            if not vehicles or any(_lifts_off(vehicle, mission) for vehicle in vehicles):
                return
            vehicle = vehicles[-1]
            weight = vehicle.lift_off_mass * pad_gravity(mission)
            raise InputError(
                f"size: free: most of {one.quantity} is {one.most:.6g} N, which makes "
                f"{pad_thrust(vehicle, mission):.6g} N on the pad; it must lift the lightest "
                f"vehicle within the bounds, which weighs {weight:.6g} N there. Raise most of the "
                "FreeThrust, or lower the least of what it lifts."
            )


def _lightest(design: DesignSpace, strongest: FreeThrust) -> list[Vehicle]:
    """With the thrust at its most, the rest at its least; an area at either end of its bounds.

    Thrust over weight grows with thrust, whatever the law: the engines are a part of the weight.
    """
    found = []
    for bounds in (design.lower, design.upper):
        values = design.lower.copy()
        for k, one in enumerate(design.free):
            if one is strongest:
                values[k] = one.most
            elif isinstance(one, FreeReferenceArea):
                values[k] = bounds[k]
        try:
            found.append(design.vehicle_at(values))
        except InputError:  # boosters that outlast their core: nothing is known
            return []
    return sorted(found, key=lambda vehicle: -vehicle.lift_off_mass)


def _lifts_off(vehicle: Vehicle, mission: Mission) -> bool:
    """As `check_lift_off` has it."""
    if seconds_held(vehicle, mission) is None:
        return False
    mass = sequence_of(vehicle, mission, direct(vehicle)).mass
    return pad_thrust(held_down(vehicle, mission), mission) > mass * pad_gravity(mission)

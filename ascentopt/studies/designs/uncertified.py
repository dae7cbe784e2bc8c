"""What is said where a search ends without any design whose ascent could be certified."""

from __future__ import annotations

from math import log

from ascentopt.errors import InfeasibleAscent
from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.beginnings import held_numbers
from ascentopt.studies.designs.design_space import DesignSpace, in_words
from ascentopt.typing import Floats


def no_design_certified(design: DesignSpace, values: Floats, margin: float) -> InfeasibleAscent:
    """The refusal, with what the last design lacks and which bounds hold it.

    Args:
        design: the vehicles.
        values: (n,) of the last one.
        margin: kg that it leaves in its tank; below zero where some are missing.
    """
    vehicle, held = design.vehicle_at(values), held_numbers(design, values)
    last = f"The last one, {in_words(vehicle)}, {_lack(margin)}."
    lines = [f"size: {vehicle.name}: no design was certified. {last}"]
    at = {one.quantity: (one.value_in(vehicle), one.unit) for one in held}
    if at:
        told = ", ".join(f"{name} of {value:.6g} {unit}" for name, (value, unit) in at.items())
        lines.append(f"Bounds hold {told}: widen them, or ask for less payload.")
    else:
        lines.append("No bound holds it: begin from another vehicle, or ask for less payload.")
    return InfeasibleAscent(" ".join(lines), shortfall=shortfall(vehicle, margin))


def _lack(margin: float) -> str:
    if margin < 0.0:
        return f"lacks {-margin:.3g} kg of propellant"
    return "flies on the meshes of the search, and not on finer ones"


def shortfall(vehicle: Vehicle, margin: float) -> float | None:
    """Speed in m/s of the propellant that is missing; None where none is."""
    if margin >= 0.0:
        return None
    last = vehicle.stages[-1]
    empty = vehicle.payload_mass + last.dry_mass
    return last.engine.exhaust_speed * log(1.0 - margin / empty)

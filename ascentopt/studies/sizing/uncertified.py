"""What is said where a search ends without any design whose ascent could be certified."""

from __future__ import annotations

from math import log

from ascentopt.errors import InfeasibleAscent
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.beginnings import held_numbers
from ascentopt.studies.sizing.flown import FlownDesign
from ascentopt.studies.sizing.steps import in_words
from ascentopt.units import STANDARD_GRAVITY


def no_design_certified(design: DesignSpace, flown: FlownDesign) -> InfeasibleAscent:
    """The refusal, with what the last design lacks and which bounds hold it."""
    vehicle, held = design.vehicle_at(flown.values), held_numbers(design, flown.values)
    last = f"The last one, {in_words(vehicle)}, {_lack(flown)}."
    lines = [f"size: {vehicle.name}: no design was certified. {last}"]
    at = {one.quantity: (one.value_in(vehicle), one.unit) for one in held}
    if at:
        told = ", ".join(f"{name} of {value:.6g} {unit}" for name, (value, unit) in at.items())
        lines.append(f"Bounds hold {told}: widen them, or ask for less payload.")
    else:
        lines.append("No bound holds it: begin from another vehicle, or with finer meshes.")
    return InfeasibleAscent(" ".join(lines), shortfall=shortfall(design, flown))


def _lack(flown: FlownDesign) -> str:
    if flown.margin < 0.0:
        return f"lacks {-flown.margin:.3g} kg of propellant"
    return "flies on the meshes of the search, and not on finer ones"


def shortfall(design: DesignSpace, flown: FlownDesign) -> float | None:
    """Speed in m/s of the propellant that is missing; None where none is."""
    if flown.margin >= 0.0:
        return None
    vehicle = design.vehicle_at(flown.values)
    last = vehicle.stages[-1]
    empty = vehicle.payload_mass + last.dry_mass
    return STANDARD_GRAVITY * last.engine.vacuum_isp * log(1.0 - flown.margin / empty)

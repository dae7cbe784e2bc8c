"""The best design as one program, its numbers unknowns like the flight's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.errors import InputError
from ascentopt.optimal.design.design import LEFT_OVER, Aim, Design
from ascentopt.optimal.design.solve import DesignSolver
from ascentopt.optimal.design.variables import (
    DesignVariable,
    PayloadMass,
    PropellantLoad,
    Thrust,
)
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.task import Task
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import FreeNumber, FreePayload, FreePropellant, FreeThrust
from ascentopt.studies.sizing.flown import FlownDesign, told


def solved_together(
    design: DesignSpace, task: Task, flown: FlownDesign, kept: float
) -> FlownDesign | None:
    """The best design with a flight's arcs, from a design that was flown.

    None where the program does not follow, or cannot tell what is asked: a budget, an area, laws
    that are tangents.

    Args:
        design: the vehicles.
        task: the mission and how hard to try.
        flown: where to begin; its tank may be overdrawn.
        kept: kg of margin to be left.

    Raises:
        TimeIsUp: when no time is left.
    """
    program = _program(design)
    if program is None:
        return None
    own = replace(task, vehicle=design.vehicle_at(flown.values))
    try:
        found = DesignSolver(own, program, kept).solved(flown.attempt)
        if found is None:
            return None
        values = np.clip(found.values, design.lower, design.upper)
        roomy = with_relaxed_tank(replace(task, vehicle=design.vehicle_at(values)))
        plain = found.plain(roomy)
    except InputError:  # what changes is not linear in the numbers, or there is no such vehicle
        return None
    if plain is None or not plain.flies:
        return None
    return told(design, roomy, values, plain)


def _program(design: DesignSpace) -> Design | None:
    variables = [_variable(one) for one in design.unknowns]
    known = [one for one in variables if one is not None]
    bent = any(law.fixed < 0.0 or law.per_area for law in design.laws)
    if design.budget is not None or len(known) < len(variables) or bent:
        return None
    return Design(variables=tuple(known), aim=_aim(design), dry_masses=design.laws)


def _variable(one: FreeNumber) -> DesignVariable | None:
    if isinstance(one, FreePropellant):
        return PropellantLoad(part=one.stage, lower=one.least, upper=one.most)
    if isinstance(one, FreeThrust):
        return Thrust(part=one.stage, lower=one.least, upper=one.most)
    return PayloadMass(upper=one.most) if isinstance(one, FreePayload) else None


def _aim(design: DesignSpace) -> Aim:
    if design.seeks_payload:
        worth = (*(0.0 for _ in design.free), 1.0)
        return Aim(name="payload", unit="kg", worth=worth, left_over=LEFT_OVER, maximise=True)
    unit = "kg" if design.counts_mass else ""
    return Aim(name="cost", unit=unit, worth=tuple(map(float, design.cost_slopes)))

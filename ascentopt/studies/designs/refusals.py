"""What cannot be sized, said before anything is solved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from ascentopt.arguments.sense import Sense
from ascentopt.errors import InputError
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.structural_law import StructuralLaw, area_of, stage_named
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import (
    FreePropellant,
    FreeReferenceArea,
    FreeStageNumber,
)
from ascentopt.studies.designs.objective import CostBudget, GreatestPayload, LeastCost, LinearCost

# Laws are fitted to several stages and miss each by some per cent; a slip of units by thousands
# (common practice, no source).
LAW_OVER_STAGE = Sense(
    quantity="dry mass by the law over that of the described stage",
    unit="",
    least=0.25,
    low=0.8,
    high=1.25,
    most=4.0,
)


def check_design(design: DesignSpace) -> None:
    """Refuse what cannot be sized.

    Raises:
        InputError: names that do not exist or occur twice, a stage without a law, a law far from
            the stage, a solid motor, nothing free, an objective without end, no vehicle at a bound.
    """
    if not design.free and not design.seeks_payload:
        raise InputError(
            "size: free is empty; there must be something to choose. Give FreePropellant, "
            "FreeThrust or FreeReferenceArea, or ask for GreatestPayload."
        )
    _check_once("free", [one.quantity for one in design.free])
    _check_once("laws", [law.stage for law in design.laws])
    last = design.vehicle.stages[-1]
    if isinstance(last.engine, SolidMotor):
        raise InputError(
            f"size: the last stage {last.name!r} has a SolidMotor; it must have an Engine, whose "
            "tank tells what is left. Give it one, or try motors one by one."
        )
    for stage in sorted({one.stage for one in design.free if isinstance(one, FreeStageNumber)}):
        _check_stage(design, stage)
    for law in design.laws:
        _check_law(design.vehicle, law)
    _check_area(design)
    _check_objective(design)
    _check_bounds(design)
    _check_worth(design)


def _check_once(what: str, names: list[str]) -> None:
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise InputError(
            f"size: {what} names {twice[0]!r} twice; each may be there once. Leave one of them out."
        )


def _check_stage(design: DesignSpace, name: str) -> None:
    stage = stage_named("size: free", design.vehicle, name)
    if isinstance(stage.engine, SolidMotor):
        raise InputError(
            f"size: stage {name!r} has a SolidMotor; a stage that is sized must have an Engine, "
            "since another grain has another thrust curve. Size the other stages, or try motors "
            "one by one."
        )
    if all(law.stage != name for law in design.laws):
        raise InputError(
            f"size: laws has none for stage {name!r}; its dry mass must follow from what is free. "
            f"Give one, such as StructuralLaw.through(vehicle, {name!r}, per_propellant=0.05, "
            "per_thrust=1.5e-3)."
        )


def _check_law(vehicle: Vehicle, law: StructuralLaw) -> None:
    stage = stage_named("size: laws", vehicle, law.stage)
    dry = law.dry_mass(stage.propellant_mass, stage.engine.mean_thrust, area_of(vehicle))
    name = (
        f"dry mass of stage {law.stage!r} by its law ({dry:g} kg) over that of the description "
        f"({stage.dry_mass:g} kg)"
    )
    fix = "Correct the law or its units, or make it by StructuralLaw.through(vehicle, ...)."
    LAW_OVER_STAGE.check("size", name, dry / stage.dry_mass, fix)


def _check_area(design: DesignSpace) -> None:
    if not any(isinstance(one, FreeReferenceArea) for one in design.free):
        return
    if design.vehicle.aerodynamics is None:
        raise InputError(
            f"size: free holds a FreeReferenceArea, and {design.vehicle.name} has no aerodynamics; "
            "it must have, for an area to matter. Give Aerodynamics, or leave the area out."
        )
    if all(law.per_area >= 0.0 for law in design.laws):
        raise InputError(
            "size: free holds a FreeReferenceArea, and no law has a per_area below zero; one must, "
            "since drag alone takes the least area. Give what a wider stage saves, or leave the "
            "area out."
        )


def _check_objective(design: DesignSpace) -> None:
    sought = design.objective
    for cost in _costs(design):
        for one in cost.stages:
            stage_named("size: objective", design.vehicle, one.stage)
    if isinstance(sought, GreatestPayload):
        propellant = [one.quantity for one in design.free if isinstance(one, FreePropellant)]
        if sought.within is None and propellant:
            raise InputError(
                f"size: objective is GreatestPayload without a budget, and {propellant[0]} is "
                "free; one must limit it, since with more propellant every payload grows. Give "
                "within=LiftOffMassBudget(most=...) or CostBudget(...)."
            )


def _check_worth(design: DesignSpace) -> None:
    """Refuse an objective that nothing free changes: by its slopes, as all is linear."""
    if np.any(design.worth != 0.0):
        return
    free = ", ".join(one.quantity for one in design.free)
    raise InputError(
        f"size: objective is {design.objective}, and nothing that is free changes it ({free}); "
        "something must. Give a FreePropellant of a stage that costs something, or per_thrust in "
        "the laws or the costs."
    )


def _costs(design: DesignSpace) -> Iterator[LinearCost]:
    if isinstance(design.objective, LeastCost):
        yield design.objective.cost
    if isinstance(design.budget, CostBudget):
        yield design.budget.cost


def _check_bounds(design: DesignSpace) -> None:
    """Refuse bounds between which there are no vehicles: at the corners, as laws are linear."""
    for values, where in ((design.lower, "least"), (design.upper, "most")):
        try:
            design.vehicle_at(values)
        except InputError as refusal:
            raise InputError(
                f"size: with every free number at its {where} there is no vehicle: {refusal} "
                "Narrow the bounds, or correct the laws."
            ) from None
    if design.budget is not None:
        lightest = design.cost_of(design.vehicle_at(design.lower))
        if lightest >= design.budget.most:
            raise InputError(
                f"size: the budget is {design.budget}, and the least that the bounds allow takes "
                f"{lightest:.6g}; it must be more. Raise the budget or lower the bounds."
            )

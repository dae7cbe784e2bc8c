"""Numbers and flight as one program, and the descent by slopes: two ways to one vehicle."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.descent import descent
from ascentopt.studies.sizing.flown import FlownDesign, flown_from
from ascentopt.studies.sizing.together import solved_together
from tests.studies.sizing.rockets import all_propellants, all_thrusts, marl, ruff, ruff_laws

KEPT = 0.03  # kg


def begun(design: DesignSpace) -> FlownDesign:
    found = optimum(design.vehicle, marl(), Effort())
    flown = flown_from(design, task_of(design.vehicle, marl()), design.start(), found.attempt)
    assert flown is not None
    return flown


@pytest.mark.parametrize(
    ("objective", "tanks"),
    [(ao.LeastLiftOffMass(), True), (ao.GreatestPayload(), False)],
    ids=["least mass", "greatest payload"],
)
@pytest.mark.slow
def test_both_ways_lead_to_one_vehicle(
    objective: ao.LeastLiftOffMass | ao.GreatestPayload,
    tanks: bool,  # noqa: FBT001
) -> None:
    vehicle = ruff()
    free = (*(all_propellants(vehicle, 0.05) if tanks else ()), *all_thrusts(vehicle, 0.05))
    design = DesignSpace(
        vehicle=vehicle, free=free, laws=tuple(ruff_laws(vehicle)), objective=objective
    )
    start, task = begun(design), task_of(vehicle, marl())
    at_once = solved_together(design, task, start, KEPT)
    *_, last = descent(design, task, start, KEPT)
    assert at_once is not None
    assert last.settled
    values = [float(design.worth @ one.values) for one in (start, at_once, last.best)]
    assert values[1] == pytest.approx(values[2], rel=2e-6)
    assert values[1] < 0.9 * values[0]
    assert at_once.margin == pytest.approx(KEPT, abs=2e-3)
    assert last.best.margin == pytest.approx(KEPT, abs=2e-3)


def test_slopes_are_what_solving_again_finds() -> None:
    """Central differences over one per cent of each number, on the same meshes."""
    vehicle = ruff()
    free = (*all_propellants(vehicle, 0.05), *all_thrusts(vehicle, 0.05))
    objective = ao.GreatestPayload(within=ao.LiftOffMassBudget(most=3e4))
    design = DesignSpace(
        vehicle=vehicle, free=free, laws=tuple(ruff_laws(vehicle)), objective=objective
    )
    start, task = begun(design), task_of(vehicle, marl())
    for k, slope in enumerate(start.slopes):
        step = 0.01 * start.values[k] * (np.arange(len(start.values)) == k)
        ends = [
            flown_from(design, task, start.values + one, start.attempt) for one in (step, -step)
        ]
        margins = [one.margin for one in ends if one is not None]
        assert len(margins) == 2
        assert (margins[0] - margins[1]) / (2.0 * step[k]) == pytest.approx(slope, rel=5e-3)


def test_what_the_program_cannot_tell_is_left_to_the_descent() -> None:
    vehicle = ruff()
    free, laws = tuple(all_propellants(vehicle, 0.05)), tuple(ruff_laws(vehicle))
    budget = ao.GreatestPayload(within=ao.LiftOffMassBudget(most=2e4))
    tangent = (ao.StructuralLaw(stage="first", fixed=-1.0, per_propellant=0.1), laws[1])
    for own, objective in ((laws, budget), (tangent, ao.LeastLiftOffMass())):
        design = DesignSpace(vehicle=vehicle, free=free, laws=own, objective=objective)
        start = begun(design)
        assert solved_together(design, task_of(vehicle, marl()), start, KEPT) is None

"""What cannot be sized is refused before anything is solved."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import ascentopt as ao
from tests.flight.rockets import boosted
from tests.studies.sizing.rockets import all_propellants, marl, ruff, ruff_laws

LEAST = ao.LeastLiftOffMass()


def refused(match: str, **changed: Any) -> None:
    vehicle = changed.pop("vehicle", ruff())
    given: dict[str, Any] = {
        "free": all_propellants(ruff()),
        "laws": ruff_laws(ruff()),
        "objective": LEAST,
        **changed,
    }
    with pytest.raises(ao.InputError, match=match):
        ao.size(vehicle, marl(), **given)


def propellant(stage: str, least: float = 1e3, most: float = 5e3) -> ao.FreePropellant:
    return ao.FreePropellant(stage=stage, least=least, most=most)


def test_stages_that_do_not_exist() -> None:
    refused("stage is 'third'; it must be the name of a stage of Ruff", free=[propellant("third")])
    refused("laws: stage is 'third'", laws=[*ruff_laws(ruff()), ao.StructuralLaw(stage="third")])
    cost = ao.LinearCost(stages=[ao.StageCost(stage="third", per_dry_mass=1.0)])
    refused("objective: stage is 'third'", objective=ao.LeastCost(cost=cost))


def test_boosters_are_not_sized() -> None:
    vehicle = boosted()
    name = vehicle.boosters[0].name
    refused("Boosters are not sized", vehicle=vehicle, free=[propellant(name)], laws=[])


def test_names_that_occur_twice() -> None:
    refused("free names 'first: propellant' twice", free=[propellant("first")] * 2)
    refused("laws names 'first' twice", laws=[ruff_laws(ruff())[0]] * 2)


def test_a_stage_without_a_law() -> None:
    refused("laws has none for stage 'second'", laws=ruff_laws(ruff())[:1])


def test_a_law_that_is_another_stage_s() -> None:
    tonnes = ao.StructuralLaw(stage="first", fixed=0.5)
    refused("dry mass of stage 'first' by its law", laws=[tonnes, ruff_laws(ruff())[1]])


def test_a_law_that_is_somewhat_off_is_told() -> None:
    first, second = ruff_laws(ruff())
    with pytest.warns(ao.UnusualInputWarning, match="dry mass of stage 'first' by its law"):
        refused(
            "budget",  # something else is wrong as well, so that nothing is solved
            laws=[replace(first, fixed=first.fixed + 600.0), second],
            objective=ao.GreatestPayload(),
        )


def test_bounds_that_cross() -> None:
    with pytest.raises(ao.InputError, match=r"most is 1000.0 kg; it must be above least"):
        propellant("first", 2e3, 1e3)


def test_solid_motors() -> None:
    motor = ao.SolidMotor(time=[0.0, 60.0], vacuum_thrust=[2e5, 1e5], vacuum_isp=270.0)
    first, second = ruff().stages
    solid = replace(first, engine=motor, propellant_mass=motor.propellant_mass)
    below = replace(ruff(), stages=(solid, second))
    refused("stage 'first' has a SolidMotor", vehicle=below)
    top = replace(second, engine=motor, propellant_mass=motor.propellant_mass, restarts=0)
    above = replace(ruff(), stages=(first, top))
    refused("last stage", vehicle=above, free=[propellant("first")], laws=ruff_laws(ruff())[:1])


def test_nothing_that_is_free() -> None:
    refused("free is empty", free=[])


def test_a_payload_without_an_end() -> None:
    refused("GreatestPayload without a budget", objective=ao.GreatestPayload())


def test_a_budget_that_nothing_fits_into() -> None:
    small = ao.GreatestPayload(within=ao.LiftOffMassBudget(most=1e3))
    refused("the budget is at most 1000 kg at lift-off", objective=small)


def test_an_objective_that_nothing_changes() -> None:
    thrust = ao.FreeThrust(stage="first", least=3e4, most=6e4)
    bare = ao.StructuralLaw.through(ruff(), "first", per_propellant=0.07)
    refused("nothing that is free changes it", free=[thrust], laws=[bare])


def test_a_cost_of_what_is_not_free() -> None:
    """Propellant is free; only the thrust of its stage costs, and that is not."""
    cost = ao.LinearCost(stages=[ao.StageCost(stage="first", per_thrust=1.0)])
    refused("nothing that is free changes it .first: propellant, second: propellant.",
            objective=ao.LeastCost(cost=cost))  # fmt: skip


def test_a_thrust_whose_bounds_lift_nothing() -> None:
    weak = ao.FreeThrust(stage="first", least=1e3, most=2e3)
    refused("most of first: vacuum thrust is 2000 N", free=[*all_propellants(ruff()), weak])


def test_an_objective_is_told_to_be_called() -> None:
    refused(r"Give LeastLiftOffMass\(\)\.$", objective=None)


def test_an_area_that_drag_alone_decides() -> None:
    area = ao.FreeReferenceArea(least=1.0, most=9.0)
    refused("has no aerodynamics", free=[area])
    air = ao.Aerodynamics(reference_area=2.0, drag_coefficient=0.3)
    refused("drag alone takes the least area", vehicle=replace(ruff(), aerodynamics=air),
            free=[*all_propellants(ruff()), area])  # fmt: skip


def test_bounds_without_a_vehicle() -> None:
    law = ao.StructuralLaw(stage="first", fixed=-400.0, per_propellant=0.15)
    refused("with every free number at its least there is no vehicle: Stage 'first': dry_mass",
            free=[propellant("first", 1e3, 5e3)], laws=[law])  # fmt: skip


def test_costs_of_nothing_or_twice() -> None:
    one = ao.StageCost(stage="first", per_propellant=1.0)
    for stages in ([], [one, one]):
        with pytest.raises(ao.InputError, match="at least one, and none twice"):
            ao.LinearCost(stages=stages)

"""The vehicles that sizing chooses among: masses by laws, costs by masses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.first_designs import first_designs
from ascentopt.units import STANDARD_GRAVITY
from tests.flight.rockets import boosted
from tests.studies.sizing.rockets import all_propellants, all_thrusts, ruff, ruff_laws

SHARES = st.lists(st.floats(0.01, 0.99), min_size=5, max_size=5)
COST = ao.LinearCost(
    stages=[
        ao.StageCost(stage="first", per_propellant=2.0, per_dry_mass=30.0),
        ao.StageCost(stage="second", per_dry_mass=50.0, per_thrust=0.01),
    ],
    fixed=1e4,
)


def space(objective: ao.LeastLiftOffMass | ao.LeastCost | ao.GreatestPayload) -> DesignSpace:
    vehicle = ruff()
    free = (*all_propellants(vehicle), *all_thrusts(vehicle))
    laws = tuple(ruff_laws(vehicle))
    return DesignSpace(vehicle=vehicle, free=free, laws=laws, objective=objective)


def between(design: DesignSpace, shares: list[float]) -> np.ndarray:
    each = np.array(shares[: len(design.unknowns)])
    return np.asarray(design.lower + each * (design.upper - design.lower))


def test_the_described_vehicle_is_one_of_them() -> None:
    design = space(ao.LeastLiftOffMass())
    vehicle = design.vehicle_at(design.start())
    for own, given_stage in zip(vehicle.stages, ruff().stages, strict=True):
        assert own.dry_mass == pytest.approx(given_stage.dry_mass, rel=1e-12)
        assert own.engine.mean_thrust == pytest.approx(given_stage.engine.mean_thrust, rel=1e-12)
    assert vehicle.lift_off_mass == pytest.approx(ruff().lift_off_mass, rel=1e-12)


@given(shares=SHARES)
def test_values_go_in_and_come_out(shares: list[float]) -> None:
    for objective in (
        ao.LeastLiftOffMass(),
        ao.GreatestPayload(within=ao.LiftOffMassBudget(most=9e3)),
    ):
        design = space(objective)
        values = between(design, shares)
        vehicle = design.vehicle_at(values)
        assert design.values_of(vehicle) == pytest.approx(values, rel=1e-12)
        for law, stage in zip(design.laws, vehicle.stages, strict=True):
            by_law = law.dry_mass(stage.propellant_mass, stage.engine.mean_thrust)
            assert stage.dry_mass == pytest.approx(by_law, rel=1e-12)


@given(shares=SHARES)
def test_costs_are_linear(shares: list[float]) -> None:
    for objective in (
        ao.LeastLiftOffMass(),
        ao.LeastCost(cost=COST),
        ao.GreatestPayload(within=ao.LiftOffMassBudget(most=9e3)),
        ao.GreatestPayload(within=ao.CostBudget(cost=COST, most=9e4)),
    ):
        design = space(objective)
        values, start = between(design, shares), design.start()
        more = design.cost_of(design.vehicle_at(values)) - design.cost_of(design.vehicle_at(start))
        size = design.cost_of(design.vehicle_at(design.upper))
        assert design.cost_slopes @ (values - start) == pytest.approx(more, abs=1e-11 * size)


def test_a_cost_counts_what_it_names() -> None:
    first, second = ruff().stages
    by_hand = 1e4 + 2.0 * first.propellant_mass + 30.0 * first.dry_mass
    by_hand += 50.0 * second.dry_mass + 0.01 * second.engine.mean_thrust
    assert COST.of(ruff()) == pytest.approx(by_hand, rel=1e-12)


def test_thrust_is_more_of_the_same_engine() -> None:
    for told in (
        {"sea_level_isp": 250.0}, {"sea_level_thrust": 30e3}, {"exit_area": 0.1}, {},
    ):  # fmt: skip
        first = replace(
            ruff().stages[0],
            engine=ao.Engine(vacuum_thrust=4e4, vacuum_isp=310.0, min_throttle=0.4, **told),
        )
        vehicle = replace(ruff(), stages=(first, ruff().stages[1]))
        free = (ao.FreeThrust(stage="first", least=1e4, most=1e5),)
        laws = (ao.StructuralLaw.through(vehicle, "first", per_propellant=0.05, per_thrust=1e-3),)
        objective = ao.GreatestPayload(within=ao.LiftOffMassBudget(most=9e3))
        design = DesignSpace(vehicle=vehicle, free=free, laws=laws, objective=objective)
        grown = design.vehicle_at([8e4, 500.0]).stages[0]
        old, new = first.engine, grown.engine
        assert isinstance(new, ao.Engine)
        assert new.mean_thrust == pytest.approx(8e4)
        assert new.effective_exit_area == pytest.approx(2.0 * old.effective_exit_area)
        assert new.isp_at_sea_level == pytest.approx(old.isp_at_sea_level)
        assert new.mass_flow == pytest.approx(8e4 / (STANDARD_GRAVITY * 310.0))
        assert new.min_throttle == 0.4
        assert grown.dry_mass - first.dry_mass == pytest.approx(40.0)


def test_an_area_and_what_it_saves() -> None:
    vehicle = boosted()
    assert vehicle.aerodynamics is not None
    area, name = vehicle.aerodynamics.reference_area, vehicle.stages[0].name
    law = ao.StructuralLaw.through(vehicle, name, per_propellant=0.05, per_area=-20.0)
    free = (ao.FreeReferenceArea(least=0.5 * area, most=3.0 * area),)
    design = DesignSpace(vehicle=vehicle, free=free, laws=(law,), objective=ao.LeastLiftOffMass())
    wider = design.vehicle_at([area + 2.0])
    assert wider.aerodynamics is not None
    assert wider.aerodynamics.reference_area == area + 2.0
    assert wider.stages[0].dry_mass == pytest.approx(vehicle.stages[0].dry_mass - 40.0)
    assert design.cost_slopes == pytest.approx([-20.0])


def test_first_designs_keep_to_bounds_and_budget() -> None:
    design = space(ao.GreatestPayload(within=ao.LiftOffMassBudget(most=1.2e4)))
    found = list(first_designs(design))
    assert len(found) > 3
    for values in found:
        assert (design.lower <= values).all()
        assert (values <= design.upper).all()
        assert design.vehicle_at(values).lift_off_mass <= 1.2e4 * (1.0 + 1e-12)


def test_descriptions_say_what_they_are() -> None:
    law = ruff_laws(ruff())[0]
    assert str(law).startswith("first: dry mass ")
    assert "0.07 of propellant" in str(law)
    assert str(ao.GreatestPayload(within=ao.LiftOffMassBudget(most=9e3))) == (
        "greatest payload within at most 9000 kg at lift-off"
    )
    assert str(ao.LeastLiftOffMass()) == "least lift-off mass"

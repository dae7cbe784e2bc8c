"""Vehicles sized with their flights: equal exchanges, bounds with prices, what is kept."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.search import MOST_ROUNDS
from ascentopt.units import kN, tonne
from tests.studies.sizing.rockets import (
    all_propellants,
    all_thrusts,
    knot,
    marl,
    moor,
    ruff,
    ruff_laws,
)


@cache
def tanks() -> ao.Sizing:
    """Propellants of both stages."""
    vehicle = ruff()
    free, laws = all_propellants(vehicle, 0.05), ruff_laws(vehicle)
    return ao.size(vehicle, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())


@cache
def least(size: float = 1.0) -> ao.Sizing:
    """Propellants and thrusts of both stages."""
    vehicle = ruff(size)
    free = [*all_propellants(vehicle, 0.05), *all_thrusts(vehicle, 0.05)]
    laws = ruff_laws(vehicle)
    return ao.size(vehicle, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())


@cache
def greatest(budget: float) -> ao.Sizing:
    """Propellants alone, for a mass at lift-off."""
    vehicle = ruff()
    return ao.size(
        vehicle,
        marl(),
        free=all_propellants(vehicle, 0.05),
        laws=ruff_laws(vehicle),
        objective=ao.GreatestPayload(within=ao.LiftOffMassBudget(most=budget)),
    )


def margin(vehicle: ao.Vehicle) -> float:
    return ao.optimize(vehicle, marl()).propellant_margin


def grown(found: ao.Sizing, stage: int, mass: float) -> ao.Vehicle:
    """So many kg more of a stage, propellant and what its law adds."""
    law, one = found.laws[stage], found.vehicle.stages[stage]
    held = one.propellant_mass + mass / (1.0 + law.per_propellant)
    dry = law.dry_mass(held, one.engine.mean_thrust)
    stages = list(found.vehicle.stages)
    stages[stage] = replace(one, propellant_mass=held, dry_mass=dry)
    return replace(found.vehicle, stages=stages)


def stronger(found: ao.Sizing, stage: int, mass: float) -> ao.Vehicle:
    """So many kg more of a stage's engines."""
    law, one = found.laws[stage], found.vehicle.stages[stage]
    assert isinstance(one.engine, ao.Engine)
    thrust = one.engine.vacuum_thrust + mass / law.per_thrust
    engine = replace(one.engine, vacuum_thrust=thrust)
    stages = list(found.vehicle.stages)
    stages[stage] = replace(one, engine=engine, dry_mass=one.dry_mass + mass)
    return replace(found.vehicle, stages=stages)


def test_it_is_lighter_certified_and_verified() -> None:
    found = tanks()
    assert found.settled
    assert found.balanced
    assert found.ascent.certificate
    assert found.ascent.certificate.structures is not None
    assert found.value == found.vehicle.lift_off_mass < 0.6 * ruff().lift_off_mass
    assert found.vehicle.payload_mass == ruff().payload_mass
    assert 0.0 <= found.kept < 0.1
    assert found.verify(), str(found.verify())
    forged = replace(found, value=found.value + 0.1)
    assert [one.quantity for one in forged.verify().disagreements] == ["sizing: objective"]


def test_its_partials_are_those_of_its_own_tank() -> None:
    """Beside the vehicle with a little less payload, optimised by itself; without air."""
    found = tanks().ascent.partials
    near = replace(tanks().vehicle, payload_mass=tanks().vehicle.payload_mass - 0.2)
    other = ao.optimize(near, marl()).partials
    assert found["limit on q alpha"].margin == 0.0
    for one in found:
        assert one.margin == pytest.approx(other[one.quantity].margin, rel=5e-3, abs=5e-3)


@pytest.mark.slow
def test_a_kilogram_buys_the_same_everywhere_by_solving_again() -> None:
    """In tanks and in engines of each stage: a little more, and less of it, each optimised anew."""
    found = least()
    spare = 1.5  # kg of payload, lest what is taken away leave no flight
    easier = replace(found, ascent=replace_payload(found, found.vehicle.payload_mass - spare))
    bought = [
        (margin(change(easier, stage, step)) - margin(change(easier, stage, -step))) / (2.0 * step)
        for change, step in ((grown, 5.0), (stronger, 1.0))
        for stage in (0, 1)
    ]
    less = margin(easier.vehicle) - margin(found.vehicle)
    payload = np.array(bought) / (less / spare)
    assert payload == pytest.approx(np.full(4, found.exchange), rel=0.02)


def replace_payload(found: ao.Sizing, payload: float) -> ao.Ascent:
    return ao.optimize(replace(found.vehicle, payload_mass=payload), marl())


@pytest.mark.slow
def test_ten_times_the_masses_and_thrusts_are_ten_times_the_vehicle() -> None:
    small, large = least(), least(10.0)
    assert large.value == pytest.approx(10.0 * small.value, rel=1e-5)
    assert large.exchange == pytest.approx(small.exchange, rel=1e-3)


@pytest.mark.slow
def test_a_budget_is_spent_and_has_a_price() -> None:
    some, more = greatest(12000.0), greatest(12100.0)
    for one, budget in ((some, 12000.0), (more, 12100.0)):
        assert one.vehicle.lift_off_mass == pytest.approx(budget, abs=1e-3)
        assert one.value == one.vehicle.payload_mass
    slope = 0.5 * (some.objective_slope + more.objective_slope)
    assert (more.value - some.value) / 100.0 == pytest.approx(slope, rel=5e-3)


def test_least_mass_and_greatest_payload_are_each_other_s() -> None:
    best = greatest(12000.0)
    vehicle = replace(ruff(), payload_mass=best.value)
    back = ao.size(
        vehicle,
        marl(),
        free=all_propellants(vehicle, 0.05),
        laws=ruff_laws(vehicle),
        objective=ao.LeastLiftOffMass(),
    )
    assert back.value == pytest.approx(12000.0, rel=3e-5)  # each keeps some grams in its tank
    assert back.objective_slope == pytest.approx(1.0 / best.objective_slope, rel=2e-3)


def held(least_load: float) -> ao.Sizing:
    """The first stage must hold more than is best."""
    vehicle = ruff()
    first, second = all_propellants(vehicle, 0.05)
    free = [replace(first, least=least_load), second]
    laws = ruff_laws(vehicle)
    return ao.size(vehicle, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())


@pytest.mark.slow
def test_what_a_bound_costs_by_solving_again() -> None:
    low, high = held(7000.0), held(7200.0)
    for one in (low, high):
        assert one["first: propellant"].at_least
        assert one["second: propellant"].is_free
        assert one["second: propellant"].price == pytest.approx(0.0, abs=1e-3)
    price = 0.5 * (low["first: propellant"].price + high["first: propellant"].price)
    assert price > 0.0
    assert (high.value - low.value) / 200.0 == pytest.approx(price, rel=0.03)
    assert "at its least" in str(low)


def test_more_than_is_needed_at_the_least_bounds() -> None:
    """Nothing is gained by a search that goes on: all stays at its least, and payload is free."""
    vehicle = ruff()
    free = all_propellants(vehicle, 0.8)
    laws = ruff_laws(vehicle)
    found = ao.size(vehicle, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())
    assert found.settled
    assert all(one.at_least for one in found.numbers)
    assert found.kept > 100.0
    assert found.objective_slope == pytest.approx(1.0)
    assert [one.price for one in found.numbers] == [pytest.approx(1.07)] * 2


@pytest.mark.slow
def test_a_payload_without_a_budget_by_thrust_alone() -> None:
    vehicle = ruff()
    found = ao.size(
        vehicle, marl(), free=all_thrusts(vehicle), laws=ruff_laws(vehicle),
        objective=ao.GreatestPayload(),
    )  # fmt: skip
    as_it_is = ao.max_payload(vehicle, marl())
    assert found.value > as_it_is.payload
    assert found.balanced
    assert "no exchange rate" in str(found)


@pytest.mark.slow
def test_the_greatest_payload_of_a_vehicle_as_it_is() -> None:
    vehicle = ruff()
    found = ao.size(vehicle, marl(), objective=ao.GreatestPayload())
    searched = ao.max_payload(vehicle, marl())
    assert found.value == pytest.approx(searched.payload, rel=1e-4)
    assert not found.numbers


@pytest.mark.slow
def test_a_vehicle_that_does_not_fly_is_a_start_all_the_same() -> None:
    """A fifth of its propellant: far short as described."""
    vehicle = ruff()
    stages = []
    for law, one in zip(ruff_laws(vehicle), vehicle.stages, strict=True):
        held = 0.2 * one.propellant_mass
        dry = law.dry_mass(held, one.engine.mean_thrust)
        stages.append(replace(one, propellant_mass=held, dry_mass=dry))
    empty = replace(vehicle, stages=stages)
    with pytest.raises(ao.InfeasibleAscent):
        ao.optimize(empty, marl())
    free, laws = all_propellants(vehicle, 0.05), ruff_laws(vehicle)
    found = ao.size(empty, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())
    assert found.value == pytest.approx(tanks().value, rel=1e-5)


@pytest.mark.slow
def test_bounds_within_which_nothing_flies() -> None:
    vehicle = ruff()
    free = all_propellants(vehicle, 0.02, 0.06)
    laws = ruff_laws(vehicle)
    with pytest.raises(ao.InfeasibleAscent, match="no vehicle within the bounds was found") as told:
        ao.size(vehicle, marl(), free=free, laws=laws, objective=ao.LeastLiftOffMass())
    assert told.value.shortfall is not None


def test_it_is_saved_and_loaded(tmp_path: Path) -> None:
    for k, found in enumerate((tanks(), greatest(12000.0))):
        path = tmp_path / f"{k}.json"
        found.save(path)
        assert ao.Sizing.load(path) == found


def test_numbers_by_name() -> None:
    assert tanks()["first: propellant"].value == tanks().vehicle.stages[0].propellant_mass
    with pytest.raises(KeyError, match="was not free; there are"):
        tanks()["payload"]


def test_steps_are_told_and_carry_what_is_certified() -> None:
    vehicle, steps, carried = ruff(), [], []

    def note(step: ao.Step[ao.Sizing]) -> None:
        steps.append(step)
        carried.append(step.so_far)

    found = ao.size(
        vehicle, marl(), free=all_propellants(vehicle, 0.05), laws=ruff_laws(vehicle),
        objective=ao.LeastLiftOffMass(), progress=note,
    )  # fmt: skip
    assert steps[-1].over
    assert carried[0] is None
    values = [one.value for one in carried if one is not None]
    assert all(after <= before * (1.0 + 1e-5) for before, after in pairwise(values))
    assert values[-1] == found.value < 0.5 * values[0]
    assert not any(one.settled for one in carried[:-1] if one is not None)


def test_the_space_of_a_result_makes_its_vehicle() -> None:
    found = tanks()
    free = tuple(all_propellants(found.given, 0.05))
    design = DesignSpace(vehicle=found.given, free=free, laws=found.laws, objective=found.objective)
    assert design.vehicle_at([one.value for one in found.numbers]) == found.vehicle


@pytest.mark.slow
def test_a_launch_through_air_settles_where_a_mesh_repeats_the_answer() -> None:
    """Limited at 45 kPa; meshes of one design differ by more than another structure may leave."""
    vehicle = knot()
    laws = [
        ao.StructuralLaw.through(vehicle, "lower", per_propellant=0.06, per_thrust=1e-3),
        ao.StructuralLaw.through(vehicle, "upper", per_propellant=0.07, per_thrust=1.5e-3),
    ]
    free = [
        ao.FreePropellant(stage="lower", least=15.0 * tonne, most=90.0 * tonne),
        ao.FreePropellant(stage="upper", least=2.0 * tonne, most=20.0 * tonne),
        ao.FreeThrust(stage="lower", least=300.0 * kN, most=1200.0 * kN),
        ao.FreeThrust(stage="upper", least=25.0 * kN, most=250.0 * kN),
    ]
    found = ao.size(vehicle, moor(), free=free, laws=laws, objective=ao.LeastLiftOffMass())
    assert found.settled
    assert found.balanced
    assert found.ascent.certificate
    rounds = [line for line in found.history if line.startswith("structures for")]
    assert len(rounds) < 1 + MOST_ROUNDS

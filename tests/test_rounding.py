"""What rounding would move is moved: by so much and no more, and the same each time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import RadauMesh, solve
from ascentopt.collocation.solution import Raw
from tests.collocation import regulator
from tests.flight.rockets import boosted
from tests.optimal.launchers import lander, moon_mission
from tests.rounding import INPUT, START, Rounding, applied

RAW = Raw(np.array([0.0, 1e-3, -4e3]), np.array([0.0, 5.0]), np.zeros(3), np.array([7.0]))


def leaves(thing: object) -> Iterator[object]:
    """All that a description is made of."""
    if is_dataclass(thing):
        for field in fields(thing):
            yield from leaves(getattr(thing, field.name))
    elif isinstance(thing, tuple):
        for part in thing:
            yield from leaves(part)
    else:
        yield thing


def test_variables_move_by_a_part_of_their_size_or_of_one() -> None:
    moved = Rounding(1).start(RAW)
    shares = (moved.x - RAW.x) / (START * np.maximum(np.abs(RAW.x), 1.0))
    assert np.all(np.abs(shares) < 1.0 + 1e-3)  # a part in 1e12 has three or four digits itself
    assert np.all(np.abs(shares) > 0.0)


def test_multipliers_move_by_a_part_of_theirs_and_parameters_not_at_all() -> None:
    moved = Rounding(1).start(RAW)
    assert moved.lam_g[0] == 0.0
    assert 0.0 < abs(moved.lam_g[1] / RAW.lam_g[1] - 1.0) < 1.001 * START
    assert not np.any(moved.lam_x)
    assert moved.p is RAW.p


def test_a_seed_is_the_same_processor_for_ever_and_another_seed_another() -> None:
    first, again, other = (Rounding(seed).start(RAW).x for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    assert Rounding(1).vehicle(boosted()) == Rounding(1).vehicle(boosted())
    assert Rounding(1).vehicle(boosted()) != Rounding(2).vehicle(boosted())


@pytest.mark.parametrize("seed", range(5))
def test_a_vehicle_moves_by_a_part_and_what_is_counted_or_nothing_stays(seed: int) -> None:
    vehicle = replace(boosted(), fairing=ao.Fairing(mass=80.0))
    pairs = list(zip(leaves(vehicle), leaves(Rounding(seed).vehicle(vehicle)), strict=True))
    numbers = [(a, b) for a, b in pairs if isinstance(a, float) and isinstance(b, float)]
    assert all(a == b for a, b in pairs if not isinstance(a, float))
    assert all(b == a == 0.0 or abs(b / a - 1.0) < 4.0 * INPUT for a, b in numbers)
    assert sum(a != b for a, b in numbers) > 20


def test_an_engine_stays_within_what_its_pairs_allow() -> None:
    engine = ao.Engine(vacuum_thrust=1e5, vacuum_isp=300.0, sea_level_isp=300.0)
    vehicle = replace(lander(), stages=(replace(lander().stages[0], engine=engine),))
    for seed in range(20):
        Rounding(seed).vehicle(vehicle)  # which refuses a sea-level value above the vacuum's


def test_solves_start_elsewhere_and_end_at_the_same_optimum() -> None:
    problem = regulator.problem(RadauMesh.uniform(intervals=3, degree=5))
    plain = solve(problem, regulator.guess(problem))
    with applied(Rounding(4)):
        moved = solve(problem, regulator.guess(problem))
    assert moved.objective == pytest.approx(plain.objective, rel=1e-9)
    assert not np.array_equal(moved.arcs[0].states, plain.arcs[0].states)
    again = solve(problem, regulator.guess(problem))
    assert np.array_equal(again.arcs[0].states, plain.arcs[0].states)


@pytest.mark.slow
def test_an_optimisation_is_given_another_vehicle() -> None:
    with applied(Rounding(4)):
        ascent = ao.optimize(lander(), moon_mission())
    assert ascent.vehicle != lander()
    assert ascent.vehicle.payload_mass == pytest.approx(lander().payload_mass, rel=INPUT)

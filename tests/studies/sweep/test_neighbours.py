"""Which points are neighbours, and the tree that they are solved along."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.optimal.perturbations import Case
from ascentopt.studies.sweep.points.neighbours import (
    DEEPEST,
    Neighbourhood,
    linked,
    neighbourhood,
)
from ascentopt.units import km
from tests.studies.wren import MISSION, VEHICLE

PLACES = st.lists(
    st.tuples(st.integers(0, 50), st.integers(0, 50)), min_size=1, max_size=30
).map(np.array)


def grid(*sides: int) -> np.ndarray:
    return np.array([[100 * k for k in point] for point in product(*map(range, sides))])


def depth(found: Neighbourhood, point: int) -> int:
    parent = found.parents[point]
    return 0 if parent is None else 1 + depth(found, parent)


def alike(places: np.ndarray) -> Neighbourhood:
    return linked(range(len(places)), places, [()] * len(places))


@given(PLACES)
def test_every_point_hangs_below_a_root_and_beside_a_neighbour(places: np.ndarray) -> None:
    found = alike(places)
    assert sorted(found.parents) == list(range(len(places)))
    assert list(found.parents.values()).count(None) >= 1
    roots = list(found.parents.values()).count(None)
    for point, parent in found.parents.items():
        assert depth(found, point) <= DEEPEST  # and so no point is above itself
        assert parent is None or parent in found.next_to[point] or roots > 1


@given(PLACES)
def test_neighbours_are_each_others(places: np.ndarray) -> None:
    found = alike(places)
    for point, others in found.next_to.items():
        assert point not in others
        assert all(point in found.next_to[other] for other in others)


@given(PLACES, st.integers(1, 9), st.integers(-100, 100))
def test_they_do_not_hang_on_scale_and_origin(places: np.ndarray, size: int, by: int) -> None:
    one, other = alike(places), alike(size * places + by)
    assert (one.next_to, one.parents) == (other.next_to, other.parents)


def test_on_a_grid_they_are_a_step_away_along_each_side() -> None:
    found = alike(grid(4, 3))
    assert sorted(found.next_to[4]) == [1, 3, 5, 7]
    assert sorted(found.next_to[0]) == [1, 3]


def test_a_grid_is_solved_from_its_middle_with_no_detour() -> None:
    for sides in ((7,), (5, 5), (10, 5), (3, 4, 5), (12, 12)):
        found = alike(grid(*sides))
        assert max(depth(found, point) for point in found.parents) == sum(n // 2 for n in sides)


@pytest.mark.parametrize("sides", [(100,), (20, 10), (40, 25), (10, 10, 10)])
def test_no_point_waits_for_more_than_a_dozen_others(sides: tuple[int, ...]) -> None:
    found = alike(grid(*sides))
    assert max(depth(found, point) for point in found.parents) <= DEEPEST
    parts = list(found.parents.values()).count(None)
    assert 1 < parts <= 1 + len(found.parents) / 8


def test_what_differs_in_more_than_numbers_begins_anew() -> None:
    ellipse = ao.EllipticalOrbit(periapsis_altitude=120 * km, apoapsis_altitude=200 * km)
    missions = [MISSION, replace(MISSION, orbit=ellipse), MISSION]
    vehicles = [VEHICLE, VEHICLE, replace(VEHICLE, payload_mass=900.0)]
    cases = dict(enumerate(map(Case, vehicles, missions)))
    assert neighbourhood(cases).parents == {0: None, 1: None, 2: 0}


def test_rounding_makes_no_neighbour_another_one() -> None:
    values = np.linspace(700.0, 900.0, 9)

    def cases(by: float) -> dict[int, Case]:
        masses = (float(x) * (1.0 + (-1) ** k * by) for k, x in enumerate(values))
        return {k: Case(replace(VEHICLE, payload_mass=m), MISSION) for k, m in enumerate(masses)}

    one, other = neighbourhood(cases(0.0)), neighbourhood(cases(1e-10))
    assert (one.next_to, one.parents) == (other.next_to, other.parents)

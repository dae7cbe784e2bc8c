"""The schedule, with answers that cost nothing: a pure function of the points and their answers."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import product
from random import Random

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.studies.sweep.points.neighbours import Neighbourhood, linked
from ascentopt.studies.sweep.schedule import Schedule, Solve


@dataclass(frozen=True)
class Answer:
    structure: str
    worth: float
    compared: tuple[str, ...] = ()
    settled: bool = False

    def beats(self, other: Answer) -> bool:
        return self.worth > other.worth


@dataclass(frozen=True)
class World:
    """Points on a grid; what each structure is worth there, by a seed."""

    neighbours: Neighbourhood
    worth: dict[tuple[int, str], float]

    def answer(self, solve: Solve, kept: dict[tuple[int, int], Answer]) -> Answer:
        """The better of the neighbour's structure and, from nothing, the first one."""
        known = "A" if solve.near is None else kept[solve.near].structure
        worth = self.worth[solve.point, known]
        return Answer(known if worth > 0.0 else "", worth)


@st.composite
def worlds(draw: st.DrawFn) -> World:
    sides = draw(st.tuples(st.integers(1, 5), st.integers(1, 5)))
    places = np.array([[100 * k for k in point] for point in product(*map(range, sides))])
    kinds = draw(st.lists(st.integers(0, 1), min_size=len(places), max_size=len(places)))
    random = Random(draw(st.integers(0, 10**6)))
    worth = {(k, s): random.uniform(-0.3, 1.0) for k in range(len(places)) for s in "AB"}
    return World(linked(range(len(places)), places, kinds), worth)


def run(world: World, order: Random) -> tuple[Schedule[Answer], list[Solve]]:
    """Finish solves in any order."""
    schedule: Schedule[Answer] = Schedule(world.neighbours)
    out, done = schedule.begin(), []
    kept: dict[tuple[int, int], Answer] = {}
    while out:
        solve = out.pop(order.randrange(len(out)))
        kept[solve.point, solve.serial] = world.answer(solve, kept)
        done.append(solve)
        out += schedule.take(solve, kept[solve.point, solve.serial])
    return schedule, done


@given(worlds(), st.integers(0, 10**6))
def test_every_point_is_answered_and_no_solve_is_made_twice(world: World, seed: int) -> None:
    schedule, done = run(world, Random(seed))
    assert sorted(schedule.best) == sorted(world.neighbours.parents)
    assert max(Counter((one.point, one.serial) for one in done).values()) == 1
    assert schedule.answered == schedule.total == len(done)


@given(worlds(), st.integers(0, 10**6))
def test_what_a_solve_starts_from_is_answered_before_it(world: World, seed: int) -> None:
    _, done = run(world, Random(seed))
    seen: set[tuple[int, int]] = set()
    for one in done:
        assert one.near is None or one.near in seen
        seen.add((one.point, one.serial))


@given(worlds(), st.integers(0, 10**6), st.integers(0, 10**6))
def test_the_order_of_finishing_decides_nothing(world: World, one: int, other: int) -> None:
    first, solves = run(world, Random(one))
    second, others = run(world, Random(other))
    assert first.best == second.best
    assert set(solves) == set(others)


@given(worlds(), st.integers(0, 10**6))
def test_at_the_end_no_neighbour_has_an_untried_structure(world: World, seed: int) -> None:
    """What stands was held against the structures of all its neighbours."""
    schedule, done = run(world, Random(seed))
    tried: dict[int, set[str]] = {point: set() for point in schedule.best}
    kept: dict[tuple[int, int], Answer] = {}
    for one in done:
        kept[one.point, one.serial] = world.answer(one, kept)
        tried[one.point] |= {kept[one.near].structure} if one.near else {"A"}
    for point, others in world.neighbours.next_to.items():
        for other in others:
            structure = schedule.best[other][1].structure
            assert not structure or structure in tried[point]


def line(worth: dict[tuple[int, str], float], count: int) -> World:
    places = np.array([[100 * k] for k in range(count)])
    return World(linked(range(count), places, [()] * count), worth)


class Knows(World):
    """The last point finds a better structure by itself."""

    def answer(self, solve: Solve, kept: dict[tuple[int, int], Answer]) -> Answer:
        if solve.point == 6 and solve.serial == 0:
            return Answer("B", self.worth[6, "B"])
        return super().answer(solve, kept)


def test_a_better_structure_is_followed_as_far_as_it_is_better() -> None:
    worth = {(k, s): 1.0 if s == "A" else 0.55 + 0.15 * k for k in range(7) for s in "AB"}
    plain = line(worth, 7)
    schedule, done = run(Knows(plain.neighbours, worth), Random(0))
    found = [schedule.best[k][1].structure for k in range(7)]
    assert found == [*"AAAA", *"BBB"]
    assert 7 < len(done) <= 7 + 5


def test_what_is_refused_is_tried_again_from_a_neighbour_that_flies() -> None:
    worth = {(k, s): (1.0 if s == "B" or k == 0 else -1.0) for k in range(7) for s in "AB"}
    plain = line(worth, 7)
    schedule, _ = run(Knows(plain.neighbours, worth), Random(0))
    assert [schedule.best[k][1].structure for k in range(1, 7)] == [*"BBBBBB"]


def test_wrong_input_is_not_asked_again() -> None:
    class Refuses(World):
        def answer(self, solve: Solve, kept: dict[tuple[int, int], Answer]) -> Answer:
            if solve.point == 3:
                return Answer("", 0.0, settled=True)
            return Answer("ABCDEFG"[solve.point], 1.0)

    _, done = run(Refuses(line({}, 7).neighbours, {}), Random(0))
    assert [one.serial for one in done if one.point == 3] == [0]


def test_structures_compared_on_the_way_are_not_asked_for_again() -> None:
    class Compares(World):
        def answer(self, solve: Solve, kept: dict[tuple[int, int], Answer]) -> Answer:
            return Answer("AB"[solve.point % 2], 1.0, ("A", "B"))

    _, done = run(Compares(line({}, 6).neighbours, {}), Random(0))
    assert len(done) == 6

"""The small minimiser that tunes rules."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from ascentopt.numerics.model_search import Samples, SearchTask, search_by_models
from ascentopt.typing import Floats

SHARP = 1e-4


def least(
    measures: Callable[[Floats], Floats], start: tuple[float, ...], box: tuple[float, ...]
) -> tuple[Floats, float, int]:
    """Where it ends, the cost there, and how often it asked."""
    task = SearchTask(measures=measures, price=100.0, sharp=SHARP, narrow=1e-3, most=40)
    known = Samples()
    known.ask(task, np.array(start))
    search_by_models(task, known, box)
    place, found = known.best(task)
    return place, float(task.cost(found)), known.asked


def curved(x: Floats) -> Floats:
    # A bent and narrow valley, lowest (zero) at (0.4, 0.16).
    return np.array([20.0 * (x[1] - x[0] ** 2) ** 2 + (x[0] - 0.4) ** 2])


def test_one_number() -> None:
    place, cost, asked = least(lambda x: np.array([np.cosh(3.0 * (x[0] - 0.7))]), (0.0,), (0.1,))
    assert place[0] == pytest.approx(0.7, abs=0.01)
    assert cost < 1.0 + SHARP
    assert asked < 16


def test_a_bent_valley() -> None:
    place, cost, _ = least(curved, (-0.3, 0.3), (0.3, 0.1))
    assert place == pytest.approx([0.4, 0.16], abs=0.05)
    assert cost < 2e-3


def test_a_limit_that_bites() -> None:
    # The cost falls to the right, and the load with it is one at x + y = 0.5.
    def measures(x: Floats) -> Floats:
        return np.array([(x[0] - 1.0) ** 2 + (x[1] - 0.2) ** 2, 0.5 + x[0] + x[1]])

    place, cost, _ = least(measures, (-0.5, 0.0), (0.3, 0.1))
    assert place == pytest.approx([0.65, -0.15], abs=0.02)
    assert cost == pytest.approx(0.245, abs=2e-3)


def test_a_limit_that_cannot_be_kept_is_broken_least() -> None:
    place, _, _ = least(lambda x: np.array([x[0], 1.5 + (x[0] - 0.3) ** 2]), (0.0,), (0.1,))
    assert place[0] == pytest.approx(0.3, abs=0.02)


def test_a_cliff_beside_the_lowest_place() -> None:
    # Beyond x = 0.5 there is nothing; the cost falls right up to it.
    def measures(x: Floats) -> Floats:
        return np.array([np.exp(-x[0]) if x[0] < 0.5 else np.inf])

    place, _, _ = least(measures, (0.0,), (0.3,))
    assert 0.48 < place[0] < 0.5


def test_flights_that_are_known_save_asking() -> None:
    def bowl(x: Floats) -> Floats:
        return np.array([x[0] ** 2 + x[0] * x[1] + 2.0 * x[1] ** 2])

    task = SearchTask(measures=bowl, price=1.0, sharp=SHARP, narrow=1e-3, most=40)
    known = Samples()
    for place in np.random.default_rng(1).uniform(-0.2, 0.2, (8, 2)):
        known.add(place, bowl(place))
    search_by_models(task, known, (0.1, 0.1))
    assert float(known.best(task)[1][0]) < SHARP
    assert known.asked < 12


def test_of_one_number_what_lies_between_distant_places_is_seen() -> None:
    def dipping(x: Floats) -> Floats:
        return np.array([10.0 * x[0] ** 2 - 3.0 * max(0.0, 0.02 - abs(x[0] - 0.03))])

    known, task = (
        Samples(),
        SearchTask(measures=dipping, price=1.0, sharp=1e-4, narrow=1e-3, most=40),
    )
    for place in (-0.06, 0.0, 0.06):
        known.add(np.array([place]), dipping(np.array([place])))
    search_by_models(task, known, (0.1,))
    assert float(known.best(task)[1][0]) < -0.04


def test_along_an_edge_beyond_which_there_is_nothing_it_goes_down() -> None:
    def edged(x: Floats) -> Floats:
        if x[1] > 0.3 * x[0]:
            return np.array([np.inf])
        return np.array([1.0 - 2.0 * x[1] + (x[0] - 0.5) ** 2])

    # Least at (0.8, 0.24).
    cost, asked = edged_least(edged)
    assert cost < 0.61 + 0.01
    assert asked <= 40


def edged_least(measures: Callable[[Floats], Floats]) -> tuple[float, int]:
    task = SearchTask(measures=measures, price=1.0, sharp=1e-4, narrow=1e-3, most=40)
    known = Samples()
    known.ask(task, np.array([-0.4, -0.15]))
    search_by_models(task, known, (0.3, 0.1))
    return float(known.best(task)[1][0]), known.asked


def test_what_lies_beyond_the_bounds_is_not_asked_for() -> None:
    asked: list[Floats] = []

    def slope(x: Floats) -> Floats:
        asked.append(x)
        return np.array([2.0 - x[0] - 0.5 * x[1] + x[0] * x[1]])

    high = np.array([0.35, 0.1])
    task = SearchTask(
        measures=slope, price=1.0, sharp=1e-4, narrow=1e-3, most=40, low=-0.5 * high, high=high
    )
    known = Samples()
    known.ask(task, np.array([0.3, 0.09]))
    search_by_models(task, known, (0.3, 0.1))
    assert np.all(np.array(asked) <= high)
    assert np.all(np.array(asked) >= -0.5 * high)
    assert known.best(task)[0] == pytest.approx(high, abs=1e-3)


def test_a_long_bent_valley_is_followed_to_its_end() -> None:
    """As many evaluations as are allowed bring it half way, gaining all the time."""

    def long(x: Floats) -> Floats:
        return np.array([40.0 * (x[1] - x[0] ** 2) ** 2 + 0.1 * (x[0] - 1.2) ** 2])

    place, cost, asked = least(long, (-1.2, 1.44), (0.3, 0.1))
    assert asked > 40
    assert place[0] == pytest.approx(1.2, abs=0.1)
    assert cost < 4e-3


def test_what_gains_little_ends_when_its_evaluations_are_spent() -> None:
    """A slope on which no 40 evaluations gain 40 times what one is worth."""

    def slope(x: Floats) -> Floats:
        return np.array([SHARP * np.tanh(x[0]) + SHARP * np.sin(9.0 * x[0] + 7.0 * x[1])])

    assert least(slope, (0.0, 0.0), (0.3, 0.1))[2] <= 41

"""A flight is what it is, whatever is flown beside it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from ascentopt.guided.outcomes import Outcomes
from tests.guided.flights import ready, some

NAME = "marble-thick-air"


def assert_same(one: Outcomes, other: Outcomes) -> None:
    """To the last digits: vectors of other lengths may round otherwise."""
    assert one.end.tolist() == other.end.tolist()
    for field in ("time", "propellant_left", "missing_speed", "periapsis", "apoapsis"):
        assert getattr(one, field) == pytest.approx(getattr(other, field), rel=1e-9, abs=1e-6)
    assert one.final_state == pytest.approx(other.final_state, rel=1e-9, abs=1e-4)
    for load in fields(one.loads):
        got, wanted = getattr(one.loads, load.name), getattr(other.loads, load.name)
        assert got == pytest.approx(wanted, rel=1e-9)


def test_together_as_one_by_one() -> None:
    flight = ready(NAME)
    draws = some(flight, 6)
    singly = Outcomes.joined([flight.fly(draws[k : k + 1]) for k in range(6)])
    assert_same(flight.fly(draws), singly)


def test_the_order_of_draws_does_not_matter() -> None:
    flight = ready(NAME)
    draws = some(flight, 8)
    order = np.array([3, 0, 7, 1, 6, 2, 5, 4])
    mixed = flight.fly(draws[order])
    whole = flight.fly(draws)
    assert mixed.final_state == pytest.approx(whole.final_state[order], rel=1e-9, abs=1e-4)


def test_the_same_again() -> None:
    flight = ready(NAME)
    draws = some(flight, 4)
    assert_same(flight.fly(draws), flight.fly(draws))


def test_rounding_decides_nothing() -> None:
    flight = ready(NAME)
    draws = some(flight, 8)
    nudged = replace(draws, thrust=draws.thrust * (1.0 + 1e-10))
    moved, whole = flight.fly(nudged), flight.fly(draws)
    assert moved.end.tolist() == whole.end.tolist()
    assert moved.margin == pytest.approx(whole.margin, abs=1e-3)

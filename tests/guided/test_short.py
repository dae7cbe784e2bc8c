"""A flight that runs dry says what it was short of, and one that falls that it fell."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from ascentopt.guided.outcomes import End, Outcomes
from tests.guided.flights import as_planned, none, ready

NAME = "earth-small"


def with_more(payload: list[float]) -> Outcomes:
    """Flights with so many kg more of payload."""
    flight = ready(NAME)
    return flight.fly(replace(none(flight, len(payload)), payload=np.array(payload)))


@cache
def most() -> float:
    """Kg of payload more with which the propellant just suffices."""
    planned, heavier = as_planned(NAME).margin[0], with_more([100.0]).margin[0]
    return float(100.0 * planned / (planned - heavier))


def test_the_margin_goes_on_through_zero() -> None:
    added = most() * np.array([0.6, 0.8, 1.4, 1.6])
    found = with_more(added.tolist())
    assert found.end.tolist() == [End.IN_ORBIT] * 2 + [End.SHORT] * 2
    slopes = np.diff(found.margin) / np.diff(added)
    assert np.all(slopes < 0.0)
    assert slopes == pytest.approx(np.full(3, slopes.mean()), rel=0.25)


def test_what_is_short_says_so() -> None:
    found = with_more([1.5 * most()])
    assert found.propellant_left[0] == 0.0
    assert found.missing_speed[0] > 0.0
    assert found.periapsis[0] < as_planned(NAME).periapsis[0]
    assert found.misses.speed[0] < 0.0


def test_what_falls_is_over_there() -> None:
    flight = ready(NAME)
    weak = replace(none(flight), thrust=np.array([[0.62, 1.0]]))
    found = flight.fly(weak)
    assert found.end[0] == End.FELL
    assert np.isnan(found.margin[0])
    assert np.isnan(found.arc_ends[0, -1])

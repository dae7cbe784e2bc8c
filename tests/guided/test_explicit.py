"""Newton's method on the predicted burn: exact slopes, few corrections."""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.guided.guidance.explicit import Aimed, Predictor, fastest_turn
from ascentopt.guided.guidance.leg import Leg
from ascentopt.guided.guidance.prepared import STEPS
from tests.guided.flights import ready


def leg_and_state(name: str) -> tuple[Leg, np.ndarray, Aimed]:
    """The first leg of a scenario, where it begins as planned."""
    leg = ready(name).prepared.legs[0]
    flown = leg.arcs[leg.first].flown
    place = int(np.searchsorted(flown.times - flown.times[0], leg.since - 1e-9))
    state = flown.states[place : place + 1]
    return leg, state, leg.begin(state)


@pytest.mark.parametrize("name", ["earth-small", "moon-brisk"])
def test_slopes_are_those_of_differences(name: str) -> None:
    leg, state, aimed = leg_and_state(name)
    predictor = Predictor(ready(name).prepared.mission.body, leg.target, STEPS)
    phases = leg.phases(leg.first, np.ones(1), state[:, 6], np.full(1, leg.since))
    _, slopes = predictor.ends(state, aimed, phases)
    unknowns = np.concatenate([aimed.p[0], aimed.rate[0], aimed.left])
    for k, size in enumerate([1e-5] * 3 + [1e-8] * 3 + [1e-4]):
        both = []
        for sign in (1.0, -1.0):
            moved = unknowns.copy()
            moved[k] += sign * size
            one = Aimed(moved[None, :3], moved[None, 3:6], moved[6:])
            both.append(predictor.ends(state, one, phases)[0][0])
        wanted = (both[0] - both[1]) / (2.0 * size)
        assert slopes[0, :, k] == pytest.approx(wanted, rel=1e-4, abs=1e-6 * np.abs(slopes).max())


@pytest.mark.parametrize("name", ["earth-small", "moon-brisk"])
def test_it_converges_from_afar(name: str) -> None:
    leg, state, aimed = leg_and_state(name)
    predictor = Predictor(ready(name).prepared.mission.body, leg.target, STEPS)
    phases = leg.phases(leg.first, np.ones(1), state[:, 6], np.full(1, leg.since))
    askew = aimed.p + np.array([0.15, -0.1, 0.05])
    one = Aimed(askew, 0.8 * aimed.rate, 0.9 * aimed.left)
    for _ in range(12):
        one = predictor.correct(state, one, phases, velocity=False)
    assert one.p == pytest.approx(aimed.p, abs=1e-8)
    assert one.left == pytest.approx(aimed.left, rel=1e-8)


def test_the_fastest_turn_is_where_the_vector_is_shortest() -> None:
    one = Aimed(np.array([[1.0, 0.1, 0.0]]), np.array([[-0.2, 0.0, 0.0]]), np.array([10.0]))
    assert fastest_turn(one) == pytest.approx([0.2 / 0.1])
    short = Aimed(one.p, one.rate, np.array([1.0]))
    assert fastest_turn(short) == pytest.approx([0.2 * 0.1 / (0.8**2 + 0.1**2)])

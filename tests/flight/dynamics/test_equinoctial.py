"""Modified equinoctial elements against positions and velocities."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ascentopt.collocation.coordinates import coordinates_of, costates_of, states_of
from ascentopt.flight.dynamics.elements import Elements

MU = 3.986004418e14

angles = st.floats(-3.1, 3.1)
directions = st.tuples(*(st.floats(-1.0, 1.0),) * 3).map(np.array)


def state(position: np.ndarray, velocity: np.ndarray) -> np.ndarray:
    """A megametre or so, km/s, ten tonnes; neither a fall nor an orbit against the pole."""
    momentum = np.cross(position, velocity)
    assume(np.linalg.norm(momentum) > 0.05)
    assume(momentum[2] > -0.9 * np.linalg.norm(momentum))
    return np.array([*(position * 9e6), *(velocity * 8e3), 1e4])


def turned_over(given_state: np.ndarray) -> np.ndarray:
    """The same motion about the other pole."""
    return np.asarray(given_state * np.array([1.0, -1.0, -1.0, 1.0, -1.0, -1.0, 1.0]))


@given(directions, directions)
def test_elements_of_a_state_give_it_back(position: np.ndarray, velocity: np.ndarray) -> None:
    given_state, elements = state(position, velocity)[None], Elements(MU)
    back = states_of(elements, coordinates_of(elements, given_state))[0]
    sizes = np.array([9e6] * 3 + [8e3] * 3 + [1e4])
    assert back / sizes == pytest.approx(given_state[0] / sizes, abs=1e-9)


@given(directions, directions, directions)
def test_their_rates_are_those_of_the_motion(
    position: np.ndarray, velocity: np.ndarray, push: np.ndarray
) -> None:
    """By the chain rule from the state's rates: the pull of a sphere and a disturbing push."""
    x, a, elements = ca.SX.sym("x", 7), ca.SX.sym("a", 3), Elements(MU)
    pull = -MU * x[:3] / ca.norm_2(x[:3]) ** 3
    values = elements.of(x)
    by_chain_rule = ca.jtimes(values, x, ca.vertcat(x[3:6], pull + a, 0.0))[:6]
    both = ca.Function("both", [x, a], [by_chain_rule, elements.rates(values, a)])
    wanted, found = (np.array(v).ravel() for v in both(state(position, velocity), 20.0 * push))
    sizes = np.array([1e5, 1.0, 1.0, 1.0, 1.0, 1.0])
    assert found / sizes == pytest.approx(wanted / sizes, rel=1e-7, abs=1e-9)


@given(directions, directions)
def test_a_coast_leaves_all_but_the_longitude(position: np.ndarray, velocity: np.ndarray) -> None:
    elements = Elements(MU)
    values = coordinates_of(elements, state(position, velocity)[None])[0]
    rates = np.array(ca.DM(elements.rates(ca.DM(values), ca.DM.zeros(3)))).ravel()
    assert rates[:5].tolist() == [0.0] * 5
    assert rates[5] > 0.0


@given(directions, directions, directions, directions)
def test_costates_price_a_step_alike(
    position: np.ndarray, velocity: np.ndarray, lead: np.ndarray, faster: np.ndarray
) -> None:
    """What a small step is worth is the same in elements and in positions and velocities."""
    elements, at = Elements(MU), state(position, velocity)
    step = np.array([*(10.0 * lead), *(0.01 * faster), 0.0])
    prices = np.array([[1e-6, 3.0, -2.0, 5.0, 1.0, -4.0, 0.0]])
    pairs = coordinates_of(elements, np.vstack((at - step, at + step)))
    worth = float(prices[0] @ (pairs[1] - pairs[0]))
    found = float(costates_of(elements, at[None], prices)[0] @ (2.0 * step))
    assert found == pytest.approx(worth, rel=1e-4, abs=1e-7)


@given(directions, directions)
def test_about_the_other_pole_elements_are_those_of_the_motion_turned_over(
    position: np.ndarray, velocity: np.ndarray
) -> None:
    at, backwards = state(position, velocity), Elements(MU, retrograde=True)
    found = coordinates_of(backwards, turned_over(at)[None])
    assert found == pytest.approx(coordinates_of(Elements(MU), at[None]), rel=1e-9, abs=1e-9)
    assert states_of(backwards, found)[0] == pytest.approx(turned_over(at), rel=1e-8, abs=1e-3)


def test_longitudes_go_on_through_whole_turns() -> None:
    """Three times round, at sixteen places a turn, from where another arc has ended."""
    turns = np.linspace(0.0, 6.0 * np.pi, 49)
    around = np.column_stack((np.cos(turns), np.sin(turns), np.zeros(49)))
    ahead = np.column_stack((-np.sin(turns), np.cos(turns), np.zeros(49)))
    states = np.hstack((7e6 * around, np.sqrt(MU / 7e6) * ahead, np.ones((49, 1))))
    elements = Elements(MU)
    first = coordinates_of(elements, states)
    assert np.ptp(first[:, 5]) == pytest.approx(6.0 * np.pi)
    onward = coordinates_of(elements, states[:2], near=first[-1])
    assert onward[0, 5] == pytest.approx(first[-1, 5])

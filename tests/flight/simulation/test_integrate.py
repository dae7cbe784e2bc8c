"""The stepping integrator: accuracy, and events found where they are."""

from __future__ import annotations

from math import asin, cos, pi, sin

import numpy as np
import pytest

from ascentopt.flight.simulation.integrator import StepFailure, Tolerances, integrate


def spring(time: float, state: np.ndarray) -> np.ndarray:
    return np.array([state[1], -state[0]])


def nothing(time: float, state: np.ndarray) -> tuple[float, ...]:
    return ()


START = (0.0, np.array([0.0, 1.0]))  # sin t, cos t


def tolerances(relative: float) -> Tolerances:
    return Tolerances(relative=relative, absolute=(relative,) * 2)


@pytest.mark.parametrize("relative", [1e-6, 1e-9, 1e-12])
def test_error_follows_the_tolerance_at_all_samples(relative: float) -> None:
    found = integrate(spring, START, 20.0, nothing, tolerances(relative), None)
    exact = np.array([np.sin(found.times), np.cos(found.times)]).T
    assert found.stopped_by is None
    assert found.times[-1] == 20.0
    assert np.all(np.diff(found.times) > 0.0)
    assert np.abs(found.states[-1] - exact[-1]).max() < 100.0 * relative
    assert np.abs(found.states - exact).max() < 1000.0 * relative


def test_an_event_is_found_to_rounding() -> None:
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return (state[0] - 0.7,)

    found = integrate(spring, START, 20.0, watch, tolerances(1e-12), None)
    assert found.stopped_by == 0
    assert found.times[-1] == pytest.approx(asin(0.7), abs=1e-11)
    assert found.states[-1] == pytest.approx([0.7, cos(asin(0.7))], abs=1e-11)


def test_the_earlier_of_two_events_in_a_step_counts() -> None:
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return state[0] - 0.71, state[0] - 0.70

    found = integrate(spring, START, 20.0, watch, tolerances(1e-4), 3.0)
    assert found.stopped_by == 1
    assert found.states[-1, 0] == pytest.approx(0.70, abs=1e-4)


def test_only_a_rise_from_below_stops() -> None:
    def falling(time: float, state: np.ndarray) -> tuple[float, ...]:
        return (state[1],)  # cos t: positive at first, falls at pi/2, rises at 3 pi/2

    found = integrate(spring, START, 20.0, falling, tolerances(1e-12), None)
    assert found.times[-1] == pytest.approx(1.5 * pi, abs=1e-10)
    assert found.states[-1, 0] == pytest.approx(sin(1.5 * pi), abs=1e-10)


def test_an_event_on_a_curve_without_slope_at_the_start_of_its_step() -> None:
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return (time**3 - 1e-9,)

    found = integrate(spring, START, 2.0, watch, tolerances(1e-10), 1.0)
    assert found.times[-1] == pytest.approx(1e-3, rel=1e-9)


def test_what_cannot_be_stepped_over_fails() -> None:
    def explodes(time: float, state: np.ndarray) -> np.ndarray:
        return state**2  # 1 / (1 - t)

    with pytest.raises(StepFailure, match="at "):
        integrate(explodes, (0.0, np.array([1.0, 1.0])), 2.0, nothing, tolerances(1e-9), None)


def test_an_event_is_met_more_exactly_than_the_interpolant_knows() -> None:
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return (state[0] - 0.7,)

    found = integrate(spring, START, 20.0, watch, tolerances(1e-5), 1.5)
    assert found.stopped_by == 0
    assert abs(found.states[-1, 0] - 0.7) < 1e-14


def test_an_event_within_rounding_of_the_start_of_its_step() -> None:
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return ((time - 1.0) - 1e-17,)

    found = integrate(spring, (1.0, START[1]), 2.0, watch, tolerances(1e-10), 0.1)
    assert (found.stopped_by, found.times[-1]) == (0, 1.0)
    assert np.array_equal(found.states[-1], START[1])


def test_an_event_a_rounding_after_the_start_of_its_step() -> None:
    # Watched values are differences of larger ones: within some 1e-10 s this one does not change.
    def watch(time: float, state: np.ndarray) -> tuple[float, ...]:
        return (1e3 + 1e-3 * (time - 174.0) - 1e3 - 5e-14,)

    found = integrate(spring, (174.0, START[1]), 175.0, watch, tolerances(1e-10), 0.1)
    assert found.stopped_by == 0
    assert found.times[-1] == pytest.approx(174.0, abs=1e-9)

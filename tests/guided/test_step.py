"""Invariants of a step and of whole flights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.guided.flights.flying import COAST
from ascentopt.guided.steps.events import first_length
from ascentopt.guided.steps.rows import OverRows
from ascentopt.guided.steps.step import STATE, StepForm, step_function
from ascentopt.typing import Floats
from tests.guided.flights import as_planned, none, ready, some

BARE = replace(ao.earth(), atmosphere=None, j2=0.0)
KIND = ArcKind(body=BARE, guidance=Guidance.COAST)


def coasted(states: Floats, seconds: float, steps: int) -> Floats:
    """(N, 8) states after a coast."""
    count = len(states)
    step = OverRows(step_function(StepForm(KIND, None, ())))
    fixed = np.zeros((count, len(KIND.numbers))), np.ones((count, 2)), np.zeros((count, 3))
    length = np.full((count, 1), seconds / steps)
    for _ in range(steps):
        found = step(np.zeros((count, 2)), states, length, *fixed, np.zeros((count, 7)),
                     np.zeros((count, 0)))  # fmt: skip
        states = found[:, :STATE]
    return states


@settings(max_examples=25)
@given(
    radius=st.floats(6.6e6, 9e6),
    share=st.floats(0.95, 1.2),
    climb=st.floats(-300.0, 300.0),
    tilt=st.floats(-0.5, 0.5),
)
def test_a_coast_keeps_energy_and_momentum(
    radius: float, share: float, climb: float, tilt: float
) -> None:
    speed = share * np.sqrt(BARE.gravitational_parameter / radius)
    state = np.array([[radius, 0, 0, climb, speed, tilt * speed, 5e3, 0.0]])
    after = coasted(state, 50 * COAST, 50)

    def kept(x: Floats) -> Floats:
        place, velocity = x[0, :3], x[0, 3:6]
        fall = BARE.gravitational_parameter / np.linalg.norm(place)
        return np.array([0.5 * velocity @ velocity - fall, *np.cross(place, velocity)])

    assert kept(after) == pytest.approx(kept(state), rel=1e-8, abs=1e2)
    assert after[0, 6] == state[0, 6]


def test_a_revolution_closes_to_a_metre() -> None:
    radius = 6.6e6
    speed = np.sqrt(BARE.gravitational_parameter / radius)
    state = np.array([[radius, 0, 0, 0.0, speed, 0.0, 5e3, 0.0]])
    period = 2.0 * np.pi * radius / speed
    after = coasted(state, period, int(period / COAST))
    assert after[0, :3] == pytest.approx(state[0, :3], abs=1.0)


def test_mass_never_grows_and_time_goes_on() -> None:
    flight = ready("earth-small")
    track = flight.fly(some(flight, 3), track=True).track
    assert track is not None
    for n in range(3):
        there = ~np.isnan(track.time[:, n])
        assert np.all(np.diff(track.time[there, n]) >= 0.0)
        assert np.all(np.diff(track.states[there, n, 6]) <= 1e-9)


def test_a_track_ends_where_the_flight_does() -> None:
    flight = ready("moon-brisk")
    found = flight.fly(none(flight), track=True)
    assert found.track is not None
    assert found.track.states[-1, 0] == pytest.approx(found.final_state[0])
    assert found.track.time[-1, 0] == found.time[0]


def test_loads_are_those_of_the_plan() -> None:
    found = as_planned("earth-small")
    arcs = ready("earth-small").prepared.arcs
    planned = max(float(one.readings.dynamic_pressure.max()) for one in arcs)
    assert found.loads.dynamic_pressure[0] == pytest.approx(planned, rel=2e-3)
    strongest = max(
        float(one.readings.axial_acceleration.max()) for one in arcs if one.arc.burning
    )
    assert found.loads.axial_acceleration[0] == pytest.approx(strongest, rel=2e-3)


@given(
    root=st.floats(1e-6, 0.999),
    power=st.sampled_from([1, 3, 5]),
    scale=st.floats(1e-6, 1e6),
)
def test_an_event_is_found_within_its_step(root: float, power: int, scale: float) -> None:
    roots = np.array([root, 0.5])

    def value(tried: Floats) -> Floats:
        return np.asarray(scale * np.sign(tried - roots) * np.abs(tried - roots) ** power)

    found = first_length(value, value(np.zeros(2)), value(np.ones(2)), np.ones(2))
    assert found == pytest.approx(roots, abs=2e-9)

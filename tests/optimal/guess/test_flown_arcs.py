"""The arcs of a guess: a coast keeps to its Kepler orbit, in the air as well; a burn does not."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi, sqrt

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.guess.flown_arcs import FlownArc, fly_at_pitch
from ascentopt.units import km
from tests.optimal.launchers import earth_mission, small_launcher

ROUND = replace(ao.earth(), j2=0.0)
"""Around what is no ball, a coast keeps neither of the two."""

STEPS = 48

ALTITUDES = st.floats(10 * km, 300 * km)
SPEEDS = st.floats(3000.0, 10500.0)
SHARES = st.floats(0.02, 0.5)


@cache
def arcs() -> tuple[FlightArc, FlightArc]:
    """A burn of the second stage and the coast after it."""
    mission = replace(earth_mission(), body=ROUND)
    plan = FlightPlan(inserting_stage=1, restarts=1)
    *_, burn, coast, _ = sequence_of(small_launcher(), mission, plan).arcs
    assert burn.burning
    assert not coast.burning
    return burn, coast


def level(altitude: float, speed: float) -> Array:
    """(7,) state in horizontal flight."""
    radius = ROUND.radius + altitude
    return np.array([radius, 0.0, 0.0, 0.0, 0.8 * speed, 0.6 * speed, 1500.0])


def period(state: Array) -> float:
    """Of the orbit through a state, s."""
    mu = ROUND.gravitational_parameter
    inverse = 2.0 / float(np.linalg.norm(state[:3])) - float(state[3:6] @ state[3:6]) / mu
    return 2.0 * pi / (inverse * sqrt(mu * inverse))


def energies(flown: FlownArc) -> Array:
    """(k,) specific, J/kg."""
    place, speed = flown.states[:, :3], flown.states[:, 3:6]
    potential = ROUND.gravitational_parameter / np.linalg.norm(place, axis=1)
    return np.asarray(0.5 * (speed**2).sum(axis=1) - potential)


@given(ALTITUDES, SPEEDS, SHARES)
def test_a_coast_keeps_its_energy_and_its_momentum_however_thick_the_air(
    altitude: float, speed: float, share: float
) -> None:
    """Though it leads through the ground: the orbit it is on is what a guess wants of it."""
    state = level(altitude, speed)
    flown = fly_at_pitch(arcs()[1], state, 300.0, share * period(state), STEPS)
    momenta = np.cross(flown.states[:, :3], flown.states[:, 3:6])
    np.testing.assert_allclose(energies(flown), energies(flown)[0], rtol=2e-4)
    size = np.linalg.norm(momenta[0])
    np.testing.assert_allclose(momenta / size, momenta[:1].repeat(STEPS + 1, 0) / size, atol=1e-5)
    np.testing.assert_array_equal(flown.states[:, 6], state[6])


@given(ALTITUDES, SPEEDS)
def test_half_a_revolution_ends_at_the_other_end_of_the_orbit(
    altitude: float, speed: float
) -> None:
    state = level(altitude, speed)
    flown = fly_at_pitch(arcs()[1], state, 300.0, 0.5 * period(state), STEPS)
    start, end = flown.states[0, :3], flown.states[-1, :3]
    inverse = 2.0 / start[0] - speed**2 / ROUND.gravitational_parameter
    np.testing.assert_allclose(end, -start * (2.0 / inverse - start[0]) / start[0],
                               atol=1e-3 * start[0])  # fmt: skip


@given(st.floats(10 * km, 70 * km), SPEEDS)
def test_a_burn_feels_the_drag(altitude: float, speed: float) -> None:
    burn, state = arcs()[0], level(altitude, speed)
    bare = replace(burn, numbers=replace(burn.parameters, reference_area=0.0).numbers)
    ends = [fly_at_pitch(arc, state, 300.0, 2.0, 4).states[-1] for arc in (burn, bare)]
    slow, fast = (float(np.linalg.norm(end[3:6])) for end in ends)
    assert slow < fast - 1e-3
    assert ends[0][6] == ends[1][6] < state[6]

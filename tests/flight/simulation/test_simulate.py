"""Invariants of simulated flights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.simulation.simulate import simulate
from ascentopt.steering import GravityTurn
from ascentopt.units import km
from tests.flight.phases.test_builder import two_stages
from tests.optimal.launchers import earth_mission

PLAN = FlightPlan(inserting_stage=1, restarts=1)
BARE = replace(two_stages(), fairing=None)


def coast(body: ao.Body, state: np.ndarray, seconds: float) -> Flight:
    mission = replace(earth_mission(), body=body)
    whole = sequence_of(BARE, mission, PLAN)
    arc = next(arc for arc in whole.arcs if arc.name == "coast 1")
    law = GravityTurn(plan=PLAN, kick=None, endings=((arc.name, AfterDuration(seconds)),))
    return simulate(replace(whole, arcs=(arc,), spans=()), law, start_state=state)


radii = st.floats(6.7e6, 9e6)
speeds = st.floats(0.9, 1.2)
slants = st.floats(-0.3, 0.3)


@given(radius=radii, share=speeds, climb=slants, tilt=slants)
def test_a_coast_keeps_energy_and_angular_momentum(
    radius: float, share: float, climb: float, tilt: float
) -> None:
    body = replace(ao.earth(), atmosphere=None, j2=0.0)
    mu = body.gravitational_parameter
    speed = share * np.sqrt(mu / radius)
    state = np.array([radius, 0, 0, climb * 1e3, speed, tilt * speed, 5e3])
    end = coast(body, state, 300.0).final_state

    def energy(x: np.ndarray) -> float:
        return float(0.5 * x[3:6] @ x[3:6] - mu / np.linalg.norm(x[:3]))

    def momentum(x: np.ndarray) -> np.ndarray:
        return np.cross(x[:3], x[3:6])

    assert energy(end) == pytest.approx(energy(state), rel=1e-10)
    assert momentum(end) == pytest.approx(momentum(state), rel=1e-10, abs=1.0)
    assert end[6] == state[6]


@given(radius=radii, tilt=st.floats(0.3, 1.0))
def test_oblateness_keeps_the_momentum_along_the_axis(radius: float, tilt: float) -> None:
    body = replace(ao.earth(), atmosphere=None)
    speed = np.sqrt(body.gravitational_parameter / radius)
    state = np.array([radius, 0, 0, 0, speed * np.cos(tilt), speed * np.sin(tilt), 5e3])
    end = coast(body, state, 300.0).final_state
    along = np.cross(end[:3], end[3:6])[2]
    assert along == pytest.approx(radius * speed * np.cos(tilt), rel=1e-10)


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    first, second = BARE.stages  # without air, a transfer from the ground has no end to its loads
    once = replace(BARE, stages=(first, replace(second, restarts=0)))
    return ao.optimize(once, earth_mission(dynamic_pressure=None))


def test_mass_never_grows_and_the_budget_closes(ascent: ao.Ascent) -> None:
    assert np.all(np.diff(ascent.trajectory.states[:, 6]) <= 1e-9)
    assert abs(ascent.budget.closing_error) < 0.1


def test_losses_of_an_earth_launcher_are_plausible(ascent: ao.Ascent) -> None:
    """Bands of R. W. Humble, G. N. Henry and W. J. Larson, *Space Propulsion Analysis and Design*,
    1995 (second-hand): gravity 1150-1576 m/s. This vehicle has no aerodynamics, hence no drag."""
    assert 1000.0 < ascent.budget.gravity < 1576.0
    assert ascent.budget.drag == 0.0


def test_the_flight_ends_in_the_orbit(ascent: ao.Ascent) -> None:
    end, body = ascent.trajectory.final_state, ascent.mission.body
    radius = float(np.linalg.norm(end[:3]))
    assert radius == pytest.approx(body.radius + 300 * km, abs=10.0)
    circular = np.sqrt(body.gravitational_parameter / radius)
    assert np.linalg.norm(end[3:6]) == pytest.approx(circular, abs=0.02)
    assert end[:3] @ end[3:6] / radius == pytest.approx(0.0, abs=0.02)


def test_a_trajectory_survives_its_dictionary(ascent: ao.Ascent) -> None:
    again = Trajectory.from_dict(ascent.trajectory.to_dict())
    assert again.arcs == ascent.trajectory.arcs

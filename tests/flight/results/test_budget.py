"""The delta-v budget: it closes, and its parts are what they are called."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import fly, simulate
from ascentopt.rocket import Vehicle
from ascentopt.units import STANDARD_GRAVITY, deg
from ascentopt.world import Body, earth, mars
from tests.flight import reference
from tests.flight.rockets import SMALL_CORE, UPPER, Leaning, boosted, mission, plain, solid_first

PLAN = FlightPlan(inserting_stage=1)
VEHICLES = st.sampled_from([plain(), boosted(), solid_first()])
BODIES = st.sampled_from([earth(), mars()])


def flown(vehicle: Vehicle, body: Body, rate: float, heading: float, latitude: float) -> Flight:
    law = Leaning(PLAN, {"upper": AfterDuration(150.0)}, rate=rate, heading=heading)
    return fly(vehicle, mission(body, latitude=latitude), law)


@given(VEHICLES, BODIES, st.floats(0.2, 0.5), st.floats(0, 360), st.floats(-40, 40))
@settings(max_examples=25)
def test_the_budget_closes(
    vehicle: Vehicle, body: Body, rate: float, heading: float, latitude: float
) -> None:
    flight = flown(vehicle, body, rate * deg, heading * deg, latitude * deg)
    budget, end = flight.budget, flight.final_state
    assert abs(budget.closing_error) < 1e-4
    assert np.all(np.diff(flight.trajectory.states[:, 6]) <= 0.0)
    assert budget.speed_gained == pytest.approx(float(np.linalg.norm(end[3:6])), abs=1e-6)
    spin = np.array([0.0, 0.0, body.rotation_rate])
    relative = np.linalg.norm(end[3:6] - np.cross(spin, end[:3]))
    assert budget.rotation == pytest.approx(budget.speed_gained - float(relative), abs=1e-9)
    assert budget.gravity > 0.0
    assert budget.drag > 0.0
    assert budget.steering > 0.0
    assert budget.back_pressure > 0.0


def test_the_ideal_is_the_rocket_equation() -> None:
    vehicle = plain()
    budget = flown(vehicle, earth(), 0.4 * deg, 1.5, -0.2).budget
    ideal = 0.0
    for index, stage, burned in ((0, SMALL_CORE, 30e3), (1, UPPER, 150.0 * UPPER.engine.mass_flow)):
        full = vehicle.mass_above(index) + stage.mass
        exhaust = STANDARD_GRAVITY * stage.engine.vacuum_isp
        ideal += exhaust * log(full / (full - burned))
    assert budget.ideal == pytest.approx(ideal, abs=1e-6)


def test_losses_are_the_integrals_of_the_independent_forces() -> None:
    """Trapezoidal rule over the samples of the first burn: good to a few parts in 1e4."""
    vehicle, body = plain(), earth()
    whole = sequence_of(vehicle, mission(), PLAN)
    law = Leaning(PLAN, {})
    pieces = tuple(whole.arcs[:2])
    flight = simulate(
        type(whole)(arcs=pieces, spans=whole.spans, position=whole.position,
                    velocity=whole.velocity, mass=whole.mass),
        law,
    )  # fmt: skip
    rows = []
    spin = np.array([0.0, 0.0, body.rotation_rate])
    track = flight.trajectory
    for time, state, direction in zip(track.time, track.states, track.directions, strict=True):
        alight = reference.Alight((vehicle.stages[0], float(time)))
        found = reference.forces(vehicle, body, alight, state, direction)
        w = found.air_velocity
        speed = np.linalg.norm(w)
        toward = w / speed if speed > 1e-6 else direction
        effective = found.gravity - np.cross(spin, np.cross(spin, state[:3]))
        rows.append(
            [
                -effective @ toward,
                -found.aerodynamic @ toward / state[6],
                found.thrust / state[6] * (1.0 - direction @ toward),
                (found.vacuum_thrust - found.thrust) / state[6],
            ]
        )
    sums = trapezoid(np.array(rows), track.time, axis=0)
    budget = flight.budget
    got = [budget.gravity, budget.drag, budget.steering, budget.back_pressure]
    assert got == pytest.approx(sums, rel=2e-3, abs=0.05)


def test_a_flight_under_way_gains_what_it_gains() -> None:
    whole = sequence_of(plain(), mission(), PLAN)
    state = whole.initial_state()
    state[:3] *= 1.03
    state[3:6] += 2000.0 * np.array([0.6, 0.8, 0.0])
    last = type(whole)(arcs=whole.arcs[-1:], spans=(), position=whole.position,
                       velocity=whole.velocity, mass=whole.mass)  # fmt: skip
    state[6] = plain().mass_above(0)
    flight = simulate(last, Leaning(PLAN, {"upper": AfterDuration(60.0)}), start_state=state)
    assert abs(flight.budget.closing_error) < 1e-6
    spin = np.array([0.0, 0.0, earth().rotation_rate])
    first = np.linalg.norm(state[3:6] - np.cross(spin, state[:3]))
    final = np.linalg.norm(flight.final_state[3:6])
    assert flight.budget.speed_gained == pytest.approx(float(final - first), abs=1e-9)
    assert flight.events.rows[0].name == "start"


def test_it_reads_as_a_table() -> None:
    text = str(flown(plain(), earth(), 0.4 * deg, 1.5, -0.2).budget)
    lines = text.splitlines()
    assert lines[0].split() == ["delta-v", "budget", "m/s"]
    names = [line.rsplit(maxsplit=1)[0].strip() for line in lines[1:]]
    assert names == ["ideal", "speed gained", "gravity", "drag", "steering", "back pressure",
                     "rotation", "closing error"]  # fmt: skip

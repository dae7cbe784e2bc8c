"""The equations of motion against an independent implementation, and against the optimiser's."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ascentopt.collocation.model import physical
from ascentopt.flight.dynamics.numeric_rates import MotionRates
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.problem.phase_model import arc_model
from ascentopt.rocket import Vehicle
from ascentopt.world import Body, Wind, earth, mars, moon
from tests.flight import reference
from tests.flight.rockets import boosted, mission, plain, solid_first

PLAN = FlightPlan(inserting_stage=1, restarts=1)
AIR = earth().atmosphere
assert AIR is not None
GALE = Wind(
    altitude=(0.0, 4e3, 11e3, 25e3), eastward=(5.0, 20.0, 45.0, -10.0), northward=(0, -8, 3, 12)
)
BODIES = {
    "Earth": earth(),
    "Mars": mars(),
    "Moon": moon(),
    "windy": replace(earth(), atmosphere=replace(AIR, wind=GALE)),
    "retrograde": replace(earth(), flattening=0.006, j2=5e-3, rotation_rate=-2e-4),
}
VEHICLES = {"plain": plain(), "boosted": boosted(), "solid first": solid_first()}

unit = st.floats(-1.0, 1.0)
directions = st.tuples(unit, unit, unit).filter(lambda v: np.linalg.norm(v) > 0.1)


@st.composite
def instants(draw: st.DrawFn) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], float, float]:
    """Direction of the position, height, air-relative velocity; thrust direction; clock."""
    place = np.array(draw(directions))
    height = draw(st.floats(-200.0, 400e3))
    wind = np.array(draw(directions)) * 10.0 ** draw(st.floats(-1.0, 3.8))
    mass = draw(st.floats(2e3, 2e5))
    thrust = np.array(draw(directions))
    raw = np.array([*place / np.linalg.norm(place), height, *wind, mass])
    return raw, thrust / np.linalg.norm(thrust), draw(st.floats(0, 1)), draw(st.floats(0.5, 1))


def state_on(body: Body, raw: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    position = raw[:3] * (body.radius * (1.0 - body.flattening * raw[2] ** 2) + raw[3])
    spin = np.array([0.0, 0.0, body.rotation_rate])
    return np.array([*position, *(raw[4:7] + np.cross(spin, position)), raw[7]])


def alight_on(
    vehicle: Vehicle, arc: FlightArc, time: float, elapsed: float, throttle: float
) -> reference.Alight:
    """What burns, from the vehicle's own clocks."""
    if not arc.burning:
        return reference.Alight(None)
    stage = vehicle.stages[arc.stage]
    if arc.stage > 0:
        return reference.Alight((stage, elapsed), throttle=throttle)
    groups = tuple(
        (g, time - g.ignition_time)
        for g in vehicle.boosters
        if g.ignition_time <= time <= g.burn_out_time
    )
    return reference.Alight((stage, time - stage.ignition_delay), groups, throttle)


def cases() -> list[Any]:
    found = []
    for name, vehicle in VEHICLES.items():
        arcs = sequence_of(vehicle, mission(), PLAN).arcs
        found += [pytest.param(vehicle, arc.name, id=f"{name}: {arc.name}") for arc in arcs]
    return found


def started(arcs: tuple[FlightArc, ...], index: int) -> float:
    """When an arc of the first stage begins; the rise shares the time of the arc after it."""
    return sum(arc.duration[1] for arc in arcs[:index] if arc.rise is None)


@lru_cache
def arcs_of(vehicle: Vehicle, body: Body) -> tuple[FlightArc, ...]:
    return sequence_of(vehicle, mission(body), PLAN).arcs


@lru_cache
def collocated(kind: ArcKind) -> Any:
    return physical(arc_model(kind, ()))


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
@pytest.mark.parametrize(("vehicle", "name"), cases())
@given(instants())
@settings(max_examples=20)
def test_rates_agree_with_the_independent_ones(
    vehicle: Vehicle, name: str, body: Body, instant: Any
) -> None:
    raw, direction, share, throttle = instant
    arcs = arcs_of(vehicle, body)
    index = [arc.name for arc in arcs].index(name)
    arc = arcs[index]
    throttle = throttle if arc.kind.throttled else 1.0
    # Open interval: at its ends another set of boosters burns.
    elapsed = arc.duration[1] * (0.001 + 0.998 * share)
    time = elapsed + (started(arcs, index) if arc.stage == 0 else 200.0)
    state = state_on(body, raw)
    if arc.kind.guidance is Guidance.VERTICAL:
        _, direction = reference.geodetic(body, state[:3])

    found = MotionRates(arc.kind, arc.numbers)((time, elapsed), state, direction, throttle)
    alight = alight_on(vehicle, arc, time, elapsed, throttle)
    want = reference.forces(vehicle, body, alight, state, direction)

    np.testing.assert_array_equal(found[:3], state[3:6])
    size = np.abs(want.gravity).max() + np.linalg.norm(want.aerodynamic) / state[6]
    size += want.vacuum_thrust / state[6]
    # Heights agree to a micrometre (the flattened body's closed form); air feels it as 1e-10.
    np.testing.assert_allclose(found[3:6], want.acceleration, rtol=0.0, atol=1e-10 * size)
    assert found[6] == pytest.approx(-want.mass_flow, rel=1e-10)
    losses(found, want, state, body, direction, size)


def losses(
    found: np.ndarray[Any, Any],
    want: reference.Result,
    state: np.ndarray[Any, Any],
    body: Body,
    direction: np.ndarray[Any, Any],
    size: float,
) -> None:
    """The rates of the losses, from their definitions."""
    mass, spin = state[6], np.array([0.0, 0.0, body.rotation_rate])
    w = state[3:6] - np.cross(spin, state[:3])  # over the ground, whatever the wind
    toward = w / np.linalg.norm(w)
    effective = want.gravity - np.cross(spin, np.cross(spin, state[:3]))
    expected = [
        want.vacuum_thrust / mass,
        -effective @ toward,
        -want.aerodynamic @ toward / mass,
        want.thrust / mass * (1.0 - direction @ toward),
        (want.vacuum_thrust - want.thrust) / mass,
    ]
    # A slow motion is the difference of two speeds near 500 m/s: its direction has their rounding.
    rounding = 1e-12 * float(np.linalg.norm(state[3:6]) / np.linalg.norm(w))
    np.testing.assert_allclose(found[7:], expected, rtol=0.0, atol=(1e-10 + rounding) * size)


@pytest.mark.parametrize(("vehicle", "name"), cases())
@given(instants())
@settings(max_examples=20)
def test_rates_agree_with_those_that_the_program_collocates(
    vehicle: Vehicle, name: str, instant: Any
) -> None:
    raw, direction, share, throttle = instant
    arc = next(a for a in arcs_of(vehicle, earth()) if a.name == name)
    state, elapsed = state_on(earth(), raw), share * arc.duration[1]
    throttle = throttle if arc.kind.throttled else 1.0
    time = elapsed + (0.0 if arc.stage == 0 else 200.0)
    control = [*direction] if arc.kind.guidance is Guidance.STEERED else []
    control += [throttle] if arc.kind.throttled else []
    values = collocated(arc.kind)(time, elapsed, state, np.array(control), np.array(arc.numbers))
    found = MotionRates(arc.kind, arc.numbers)((time, elapsed), state, direction, throttle)
    np.testing.assert_allclose(found[:7], np.array(values[0]).ravel()[:7], rtol=1e-13, atol=1e-12)

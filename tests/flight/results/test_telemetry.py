"""What is read off a flight, against the independent implementation and by geometry."""

from __future__ import annotations

from math import acos, atan2, cos, pi, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.telemetry import COLUMNS, Readings, read
from ascentopt.units import deg
from ascentopt.world import Body, earth, moon
from tests.flight import reference
from tests.flight.rockets import globe, mission, plain

PLAN = FlightPlan(inserting_stage=1, restarts=1)
EARTH = sequence_of(plain(), mission(), PLAN)
STEERED = next(arc for arc in EARTH.arcs if arc.name == "core")
COAST = next(arc for arc in EARTH.arcs if arc.name == "coast 1")
RISE = EARTH.arcs[0]

unit = st.floats(-1.0, 1.0)
vectors = st.tuples(unit, unit, unit).filter(lambda v: np.linalg.norm(v) > 0.1)


def reading(
    arc: FlightArc, sequence: Sequence, time: float, state: np.ndarray, direction: np.ndarray
) -> Readings:
    sample = np.array([[time, *state, *direction, 1.0]])
    return Readings.of(read(arc.kind, arc.numbers, sequence.position, 0.0, sample)[0])


def angle(a: np.ndarray, b: np.ndarray) -> float:
    return atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))


@given(vectors, st.floats(0.0, 3e5), vectors, st.floats(0.5, 8e3), vectors, st.floats(1.0, 150.0))
def test_readings_agree_with_the_independent_ones(
    place: tuple[float, ...], height: float, wind: tuple[float, ...], speed: float,
    thrust: tuple[float, ...], time: float,
) -> None:  # fmt: skip
    body, rocket = earth(), plain()
    position = np.array(place) / np.linalg.norm(place) * (body.radius + height)
    spin = np.array([0.0, 0.0, body.rotation_rate])
    velocity = speed * np.array(wind) / np.linalg.norm(wind) + np.cross(spin, position)
    direction = np.array(thrust) / np.linalg.norm(thrust)
    state = np.array([*position, *velocity, 2e4])
    got = reading(STEERED, EARTH, time, state, direction)
    want = reference.forces(
        rocket, body, reference.Alight((rocket.stages[0], time)), state, direction
    )
    air = want.air_velocity
    assert body.atmosphere is not None
    sound = float(body.atmosphere.state(want.altitude).speed_of_sound)
    expected = {
        "time": time,
        "altitude": want.altitude,
        "speed": np.linalg.norm(velocity),
        "air_speed": np.linalg.norm(air),
        "vertical_speed": velocity @ want.up,
        "flight_path_angle": pi / 2 - angle(velocity, want.up),
        "air_flight_path_angle": pi / 2 - angle(air, want.up),
        "pitch": pi / 2 - angle(direction, want.up),
        "angle_of_attack": angle(direction, air),
        "mass": 2e4,
        "throttle": 1.0,
        "thrust": want.thrust,
        "mass_flow": want.mass_flow,
        "dynamic_pressure": want.dynamic_pressure,
        "mach": np.linalg.norm(air) / sound,
        "q_alpha": want.dynamic_pressure * angle(direction, air),
        "axial_acceleration": (want.thrust + want.aerodynamic @ direction) / 2e4,
        "heating": want.dynamic_pressure * np.linalg.norm(air),
        "gravity": np.linalg.norm(want.gravity),
    }
    for name, value in expected.items():
        # 1e-6: the air speed carries 1 mm/s in quadrature, which shows at half a metre a second.
        assert getattr(got, name) == pytest.approx(value, rel=5e-6, abs=1e-9), name
    assert {c.name for c in COLUMNS} == {*expected, "heading", "downrange"}


@pytest.mark.parametrize("heading", np.arange(0.0, 360.0, 30.0) * deg)
def test_heading_is_clockwise_from_north(heading: float) -> None:
    state = EARTH.initial_state()
    around = np.array(Surroundings(earth()).at(state)[:9]).reshape(3, 3)
    direction = np.array([sin(0.3), cos(0.3) * sin(heading), cos(0.3) * cos(heading)]) @ around
    got = reading(STEERED, EARTH, 0.0, state, direction)
    assert float(got.heading) == pytest.approx(heading, abs=1e-12)
    assert float(got.pitch) == pytest.approx(0.3, abs=1e-12)


def test_everything_is_defined_on_the_pad() -> None:
    got = reading(RISE, EARTH, 0.0, EARTH.initial_state(), np.zeros(3))
    assert np.all(np.isfinite(got.table))
    assert got.altitude == pytest.approx(40.0, abs=1e-6)
    assert got.pitch == pytest.approx(pi / 2, abs=1e-7)
    assert got.air_flight_path_angle == pytest.approx(pi / 2, abs=1e-7)
    assert got.flight_path_angle == pytest.approx(0.0, abs=1e-9)
    assert got.angle_of_attack == got.heading == 0.0
    assert got.downrange == pytest.approx(0.0, abs=1e-6)


def test_a_coast_has_no_axis_and_an_airless_body_no_mach_number() -> None:
    coasting = reading(COAST, EARTH, 0.0, EARTH.initial_state(), np.zeros(3))
    blank = {c.name for c in COLUMNS if np.isnan(getattr(coasting, c.name))}
    assert blank == {"pitch", "heading", "angle_of_attack", "q_alpha"}
    airless = sequence_of(plain(), mission(moon()), PLAN)
    rise = reading(airless.arcs[0], airless, 0.0, airless.initial_state(), np.zeros(3))
    assert {c.name for c in COLUMNS if np.isnan(getattr(rise, c.name))} == {"mach"}
    assert rise.dynamic_pressure == rise.heating == 0.0


def test_downrange_is_an_arc_that_turns_with_the_body() -> None:
    body, time = earth(), 400.0
    site = np.array(EARTH.position)
    turned = body.rotation_rate * time
    place = 1.05 * np.array(
        [
            site[0] * cos(turned) - site[1] * sin(turned),
            site[0] * sin(turned) + site[1] * cos(turned),
            site[2],
        ]
    )
    state = np.array([*place, 0.0, 0.0, 0.0, 1e4])
    above = reading(STEERED, EARTH, time, state, np.array([1.0, 0, 0]))
    assert float(above.downrange) == pytest.approx(0.0, abs=1e-3)
    state[:3] = site
    left = reading(STEERED, EARTH, time, state, np.array([1.0, 0, 0]))
    axis = site / np.linalg.norm(site)
    seen = acos(float(axis @ place / np.linalg.norm(place)))
    assert float(left.downrange) == pytest.approx(body.radius * seen, rel=1e-9)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_local_frame_is_whole_at_a_pole(side: float) -> None:
    for body in (earth(), globe()):
        for distance in (0.0, 1e-9, 1e-3, 1.0):
            at = [distance, 0.0, side * body.polar_radius, 0.0, 0.0, 0.0]
            frame = np.array(Surroundings(body).at(np.array(at))[:9]).reshape(3, 3)
            assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-9)
            assert frame[0] == pytest.approx([0.0, 0.0, side], abs=1e-6)
            assert frame[1] == pytest.approx([0.0, 1.0, 0.0], abs=1e-6)


@pytest.mark.parametrize("body", [earth(), moon()], ids=["Earth", "Moon"])
def test_heating_of_a_moment_is_that_of_the_columns(body: Body) -> None:
    sequence = sequence_of(plain(), mission(body), PLAN)
    state = sequence.initial_state()
    state[:3] *= 1.01
    state[3:6] += [100.0, -2000.0, 500.0]
    arc = next(arc for arc in sequence.arcs if arc.name == "core")
    got = reading(arc, sequence, 0.0, state, np.array([1.0, 0.0, 0.0]))
    assert Surroundings(body).heating(state) == pytest.approx(float(got.heating), rel=1e-9)

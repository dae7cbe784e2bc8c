"""Check F: published gravity turns and a vertical burn, through the simulator that flies laws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, pi, radians, sin

import numpy as np
import pytest

from ascentopt.flight.guidance.ending import AfterDuration, AtEmpty, Ending
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import simulate
from ascentopt.mission import CircularOrbit, FlightLimits, LaunchSite, Mission
from ascentopt.rocket import Aerodynamics, Engine, Stage, Vehicle
from ascentopt.steering import GravityTurn
from ascentopt.steering.gravity_turn import Aligned
from ascentopt.units import STANDARD_GRAVITY, km, kPa
from ascentopt.world import Atmosphere, Body

# Engines that burn nothing, a ground without curvature: thought experiments, which are warned of.
pytestmark = pytest.mark.filterwarnings("ignore::ascentopt.UnusualInputWarning")

PLAN = FlightPlan(inserting_stage=0)


def _mission(body: Body, rise: float | None) -> Mission:
    return Mission(
        body=body,
        site=LaunchSite(latitude=0.0),
        orbit=CircularOrbit(altitude=400 * km),
        limits=FlightLimits.none(),
        vertical_rise=rise,
    )


def _vehicle(thrust: float, flow: float, mass: float, burned: float, area: float = 0.0) -> Vehicle:
    engine = Engine(vacuum_thrust=thrust, vacuum_isp=thrust / (STANDARD_GRAVITY * flow))
    stage = Stage(
        name="core", propellant_mass=burned, dry_mass=0.5 * (mass - burned), engine=engine
    )
    air = Aerodynamics(reference_area=area, drag_coefficient=0.5) if area else None
    payload = 0.5 * (mass - burned)
    return Vehicle(name="published", payload_mass=payload, stages=(stage,), aerodynamics=air)


def _follow(vehicle: Vehicle, mission: Mission, until: Ending, state: np.ndarray) -> Flight:
    """Zero angle of attack from a state under way."""
    law = GravityTurn(plan=PLAN, kick=None, endings=(("core", until),))
    whole = sequence_of(vehicle, mission, PLAN)
    last = replace(whole, arcs=(whole.arcs[-1],), spans=())
    return simulate(last, law, start_state=state)


@pytest.fixture(scope="module")
def legs() -> tuple[Flight, Flight]:
    """H. D. Curtis, *Orbital Mechanics for Engineering Students*, 3rd ed., Example 11.3.

    The book prints 8.621 km/s, 133.2 km, 0.2982 and 1.441 km/s (from memory); the digits below were
    recomputed from its data.
    """
    g, radius, mass = 9.81, 6378 * km, 149912 * 0.4536
    air = Atmosphere.exponential(
        surface_density=1.225, scale_height=7500.0, ceiling=100 * km, surface_temperature=288.15
    )
    body = Body(name="of the example", gravitational_parameter=g * radius**2, radius=radius,
                rotation_rate=0.0, atmosphere=air)  # fmt: skip
    thrust = 1.4 * mass * g
    vehicle = _vehicle(thrust, thrust / (g * 390.0), mass, mass * 14.0 / 15.0, 19.634876)
    mission = _mission(body, 130.0)
    whole = sequence_of(vehicle, mission, PLAN)
    law = GravityTurn(plan=PLAN, kick=None)
    up = simulate(replace(whole, arcs=(whole.arcs[0],), spans=()), law)
    tipped = up.final_state.copy()
    speed, lean = float(np.linalg.norm(tipped[3:6])), radians(90.0 - 89.85)
    tipped[3:6] = speed * np.array([cos(lean), sin(lean), 0.0])
    return up, _follow(vehicle, mission, AtEmpty(), tipped)


def test_curtis_11_3_the_burn_lasts_260_s(legs: tuple[Flight, Flight]) -> None:
    assert legs[0].final_time + legs[1].final_time == pytest.approx(260.0, abs=1e-3)


def test_curtis_11_3_state_at_burn_out(legs: tuple[Flight, Flight]) -> None:
    end = legs[1].trajectory
    assert end.speed[-1] == pytest.approx(8621.346, abs=0.01)
    assert np.degrees(end.flight_path_angle[-1]) == pytest.approx(8.8132, abs=1e-4)
    assert end.altitude[-1] / km == pytest.approx(133.300, abs=1e-3)
    x, y = end.states[-1, :2]
    assert 6378.0 * np.arctan2(y, x) == pytest.approx(462.276, abs=1e-3)


def test_curtis_11_3_losses_and_peak(legs: tuple[Flight, Flight]) -> None:
    drag = sum(leg.budget.drag for leg in legs)
    gravity = sum(leg.budget.gravity for leg in legs)
    assert drag == pytest.approx(298.121, abs=0.01)
    assert gravity == pytest.approx(1441.262, abs=0.02)
    peak = legs[1].events["max dynamic pressure"]
    assert peak.dynamic_pressure / kPa == pytest.approx(15.862, abs=1e-3)
    assert peak.altitude / km == pytest.approx(9.787, abs=0.01)


def _flat(at_radius: Callable[[float], np.ndarray], radius: float) -> np.ndarray:
    """Limit of results for a body of infinite radius: what is of first order in 1/R cancels."""
    return np.asarray(2.0 * at_radius(2.0 * radius) - at_radius(radius))


def _uniform(radius: float) -> Body:
    mu = STANDARD_GRAVITY * radius**2
    return Body(name="nearly flat", gravitational_parameter=mu, radius=radius, rotation_rate=0.0)


@pytest.mark.parametrize(
    ("ratio", "speed", "first", "last", "radius", "expected"),
    [
        (1.5, 50.0, 1.0, 60.0, 3e8, (542.2082923, 78.26723292, 11356.258, 16233.351)),
        (2.0, 100.0, 5.0, 90.0, 6e9, (4572.037535, 300.6278257, 568388.148, 177122.628)),
    ],
)
def test_culler_and_fried_1957(
    ratio: float,
    speed: float,
    first: float,
    last: float,
    radius: float,
    expected: tuple[float, ...],
) -> None:
    """G. J. Culler and B. D. Fried, J. Appl. Phys. 28 (1957): flat, no drag, constant T/W."""

    def at_radius(radius: float) -> np.ndarray:
        thrust = ratio * 1e4 * STANDARD_GRAVITY
        vehicle = _vehicle(thrust, 1e-9, 1e4, 1e3)
        state = np.array([radius, 0.0, 0.0, 0.0, 0.0, 0.0, 1e4])
        state[3:6] = speed * np.array([cos(radians(first)), sin(radians(first)), 0.0])
        until = Aligned(radians(last), 0.5 * pi)
        end = _follow(vehicle, _mission(_uniform(radius), None), until, state)
        x, y = end.final_state[:2]
        along = radius * np.arctan2(y, x)
        return np.array([end.trajectory.speed[-1], end.final_time, along, np.hypot(x, y) - radius])

    # What remains is of second order in v^2 / (g R): 1e-7 and less.
    assert _flat(at_radius, radius) == pytest.approx(expected, rel=3e-6)


def test_vertical_burn_in_uniform_gravity() -> None:
    """Closed form: c ln(m0/m) - g t and its integral."""

    def at_radius(radius: float) -> np.ndarray:
        vehicle = _vehicle(300.0 * STANDARD_GRAVITY * 450.0, 450.0, 1e5, 8e4)
        mission = _mission(_uniform(radius), 1e5)
        whole = sequence_of(vehicle, mission, PLAN)
        rise = replace(whole.arcs[0], rise=None)
        law = GravityTurn(plan=PLAN, kick=None, endings=((rise.name, AfterDuration(150.0)),))
        end = simulate(replace(whole, arcs=(rise,), spans=()), law)
        return np.array([end.trajectory.speed[-1], end.trajectory.altitude[-1]])

    speed, height = _flat(at_radius, 3e8)
    assert speed == pytest.approx(1835.5992247, abs=1e-3)
    assert height == pytest.approx(92164.67405, abs=0.1)

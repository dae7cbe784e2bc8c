"""Rules of thumb flown into the orbit: compiled, and by the independent simulator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.units import deg, km
from tests.rules.cases import ALL, CIRCLE, KICK, SMALL_PLANET, Case

EVERY = pytest.mark.parametrize("case", ALL, ids=str)
RATES = [case for case in ALL if case.rule.name == "constant pitch rate"]
ANGLES = [case for case in ALL if case.rule.name == "flight-path angle at an altitude"]


@dataclass(frozen=True)
class Both:
    """The compiled flight and the other."""

    closed: ClosedRuleFlight
    flown: ao.Flight


@lru_cache(maxsize=32)
def both(case: Case) -> Both:
    closed = case.flight.fly(case.values)
    return Both(closed, ao.fly(case.vehicle, case.mission, closed.law))


@EVERY
def test_the_two_flights_agree_on_the_orbit(case: Case) -> None:
    found = both(case)
    quick, slow = found.closed.end.state, found.flown.final_state
    for state in (quick, slow):
        assert np.all(np.isfinite(state))
    assert in_orbit(quick)[0] == pytest.approx(in_orbit(slow)[0], abs=1.0)
    assert in_orbit(quick)[1:] == pytest.approx(in_orbit(slow)[1:], abs=1e-3)
    assert quick[6] == pytest.approx(slow[6], rel=1e-6)


@EVERY
def test_the_two_flights_are_in_the_same_place(case: Case) -> None:
    # Along the orbit a millimetre per second at the first cut-off is metres half a turn later.
    found = both(case)
    miss = found.closed.end.state - found.flown.final_state
    assert np.linalg.norm(miss[:3]) < 1.0
    assert np.linalg.norm(miss[3:6]) < 1e-3


def in_orbit(state: np.ndarray) -> tuple[float, float, float]:
    """Radius, climb and level speed."""
    radius = float(np.linalg.norm(state[:3]))
    momentum = np.cross(state[:3], state[3:6])
    return radius, float(state[:3] @ state[3:6]) / radius, float(np.linalg.norm(momentum)) / radius


@EVERY
def test_it_ends_in_the_circle(case: Case) -> None:
    state = both(case).flown.final_state
    body, orbit = case.mission.body, case.mission.orbit
    assert isinstance(orbit, ao.CircularOrbit)
    assert orbit.altitude is not None
    radius = float(np.linalg.norm(state[:3]))
    climb = float(state[:3] @ state[3:6]) / radius
    momentum = np.cross(state[:3], state[3:6])
    level = float(np.linalg.norm(momentum)) / radius
    assert radius == pytest.approx(body.radius + orbit.altitude, abs=0.5)
    assert climb == pytest.approx(0.0, abs=1e-3)
    assert level == pytest.approx(
        np.sqrt(body.gravitational_parameter / (body.radius + orbit.altitude)), abs=1e-3
    )
    if orbit.inclination is not None:
        tilt = np.arccos(momentum[2] / np.linalg.norm(momentum))
        assert tilt == pytest.approx(orbit.inclination, abs=1e-6)


@EVERY
def test_what_it_uses_is_what_is_gone(case: Case) -> None:
    found = both(case)
    dry = case.vehicle.payload_mass + case.vehicle.stages[-1].dry_mass
    left = float(found.flown.final_state[6]) - dry
    used = case.vehicle.propellant_mass - left
    assert found.closed.propellant_used == pytest.approx(used, abs=1e-6 * used)
    assert found.closed.debt == 0.0


@pytest.mark.parametrize("case", RATES, ids=str)
def test_the_pitch_rate_is_constant(case: Case) -> None:
    track = both(case).flown.trajectory
    speed, rate = case.values
    first = np.flatnonzero(track.air_speed >= speed)[0]
    rise = next((arc for arc in track.arcs if arc.name == "vertical rise"), None)
    began = max(float(track.time[first]), float(rise.times[-1]) if rise else 0.0)
    lean = 0.5 * np.pi - track.pitch
    turning = (track.time > began + 2.0) & (lean < 85 * deg) & (lean > 1 * deg)
    burning = np.linalg.norm(track.directions, axis=1) > 0.5
    until = track.time < track.time[np.argmax(lean > 85 * deg)] if np.any(lean > 85 * deg) else True
    # Insertion by linear tangent steers the last stage in its own way.
    own = track.time < _last_ignition(case, both(case).flown)
    chosen = turning & burning & until & own
    slope = np.diff(lean[chosen]) / np.maximum(np.diff(track.time[chosen]), 1e-9)
    steps = np.diff(track.time[chosen])
    assert chosen.sum() > 50
    assert slope[steps > 1e-3] == pytest.approx(rate, rel=1e-4)


def _last_ignition(case: Case, flown: ao.Flight) -> float:
    name = case.vehicle.stages[-1].name
    times = [e.time for e in flown.events if e.name == f"{name} ignition"]
    return min(times) if times else float(flown.final_time)


@pytest.mark.parametrize("case", ANGLES, ids=str)
def test_the_motion_leans_as_asked_at_the_altitude(case: Case) -> None:
    from scipy.optimize import brentq

    flight = case.flight
    altitude = flight.rule.at(flight._pad(0.5 * np.pi))  # type: ignore[attr-defined]
    track = both(case).flown.trajectory
    above = float(track.time[np.argmax(track.altitude > altitude)])
    when = brentq(lambda t: float(track.at(t).altitude) - altitude, above - 20.0, above)
    angle = float(track.at(when).air_flight_path_angle)
    assert np.degrees(0.5 * np.pi - angle) == pytest.approx(np.degrees(case.values[0]), abs=0.01)


def test_orbits_must_be_given_whole_and_not_placed_among_the_stars() -> None:
    case = SMALL_PLANET[0]
    sides = {"periapsis_altitude": 80 * km, "apoapsis_altitude": 90 * km}
    for orbit in (
        ao.EllipticalOrbit(periapsis_altitude=80 * km),
        ao.EllipticalOrbit(**sides, argument_of_periapsis=0.5),
        ao.CircularOrbit(altitude=90 * km, inclination=20 * deg, ascending_node=1.0),
    ):
        with pytest.raises(ao.InputError, match="leave ascending_node and argument_of_periapsis"):
            RuleFlight(
                vehicle=case.vehicle,
                mission=replace(case.mission, orbit=orbit),
                rule=KICK,
                insertion=CIRCLE,
            )

"""Rules of thumb flown into the orbit: compiled, and by the independent simulator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.mission.lift_off import day, plane_passes
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.tune.tuning import tune
from ascentopt.units import deg, km
from tests.rules.cases import ALL, ANGLE, CIRCLE, KICK, SMALL_PLANET, Case

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


SIDES = {"periapsis_altitude": 80 * km, "apoapsis_altitude": 90 * km}
PLACED = ao.CircularOrbit(altitude=90 * km, inclination=20 * deg, ascending_node=1.0)


def refused(mission: ao.Mission) -> None:
    vehicle = SMALL_PLANET[0].vehicle
    RuleFlight(vehicle=vehicle, mission=mission, rule=KICK, insertion=CIRCLE)


@pytest.mark.parametrize(
    ("orbit", "said"),
    [
        (
            ao.EllipticalOrbit(periapsis_altitude=80 * km),
            "whose size and shape are given. Give both altitudes",
        ),
        (
            ao.EllipticalOrbit(**SIDES, inclination=20 * deg, argument_of_periapsis=0.5),
            "from the site and the way up.* into a circle at the periapsis's altitude",
        ),
    ],
    ids=["in part", "placed in its plane"],
)
def test_orbits_that_rules_cannot_end_in_are_refused_with_what_would_do(
    orbit: ao.EllipticalOrbit, said: str
) -> None:
    with pytest.raises(ao.InputError, match=said):
        refused(replace(SMALL_PLANET[0].mission, orbit=orbit))


def test_a_node_is_refused_where_waiting_does_not_bring_it() -> None:
    mission = replace(SMALL_PLANET[0].mission, orbit=PLACED)
    still = replace(mission.body, rotation_rate=0.0)
    with pytest.raises(ao.InputError, match=r"does not turn. Leave ascending_node"):
        refused(replace(mission, body=still))
    passes = plane_passes(mission)
    refused(replace(mission, lift_off_time=passes[0].time + 10.0))
    with pytest.raises(ao.InputError, match=r"deg away from the site.*Leave lift_off_time None"):
        refused(replace(mission, lift_off_time=passes[0].time + 0.2 * day(mission.body)))


@pytest.mark.parametrize("longitude", [0.0, 70 * deg, -150 * deg])
@pytest.mark.parametrize("rate", [2e-4, -2e-4])
def test_a_node_is_met_by_the_instant_of_lift_off(longitude: float, rate: float) -> None:
    case = SMALL_PLANET[0]
    site = replace(case.mission.site, longitude=longitude)
    body = replace(case.mission.body, rotation_rate=rate)
    mission = replace(case.mission, orbit=PLACED, site=site, body=body)
    one = RuleFlight(vehicle=case.vehicle, mission=mission, rule=ANGLE, insertion=CIRCLE)
    closed = tune(one).best
    assert closed is not None
    timed = one.timed(closed)
    assert timed.lift_off_time == one.lifts_off_at(closed)
    assert 0.0 <= (timed.lift_off_time or 0.0) < day(body)
    verdict = ao.fly(case.vehicle, timed, closed.law).verdict
    assert verdict is not None
    assert verdict.as_asked
    node = next(miss for miss in verdict.misses if miss.name == "ascending node")
    assert abs(node.miss) < 1e-5
    near = replace(one, mission=replace(timed, lift_off_time=(timed.lift_off_time or 0.0) + 9.0))
    assert near.timed(near.fly(closed.values, closed)).lift_off_time == pytest.approx(
        timed.lift_off_time, abs=0.05
    )


def test_over_the_equator_the_line_of_apsides_is() -> None:
    case = SMALL_PLANET[0]
    orbit = ao.EllipticalOrbit(**SIDES, inclination=0.0, argument_of_periapsis=70 * deg)
    site = replace(case.mission.site, latitude=0.0, longitude=40 * deg)
    mission = replace(case.mission, orbit=orbit, site=site)
    one = RuleFlight(vehicle=case.vehicle, mission=mission, rule=ANGLE, insertion=CIRCLE)
    closed = tune(one).best
    assert closed is not None
    verdict = ao.fly(case.vehicle, one.timed(closed), closed.law).verdict
    assert verdict is not None
    assert verdict.as_asked

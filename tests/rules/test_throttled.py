"""Rules throttle where the mission limits a load that throttling lowers, and the engine can."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.results.limit_check import broken_limits
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.tune.merit import load_ratio
from ascentopt.rules.tune.tuning import tune
from ascentopt.scenarios import scenarios
from ascentopt.units import deg, km, kPa
from tests.rules.cases import CIRCLE, KICK, SMALL_PLANET, TANGENT

LIMIT = 22.0  # m/s^2; without it the first stage comes to 27
LEAST = 0.6


def limited(flight: RuleFlight, least: float, limits: ao.FlightLimits) -> RuleFlight:
    first, *others = flight.vehicle.stages
    assert isinstance(first.engine, ao.Engine)
    stage = replace(first, engine=replace(first.engine, min_throttle=least))
    vehicle = replace(flight.vehicle, stages=(stage, *others))
    return replace(flight, vehicle=vehicle, mission=replace(flight.mission, limits=limits))


AXIAL = ao.FlightLimits(axial_acceleration=LIMIT)


@lru_cache(maxsize=4)
def both(insertion: type) -> tuple[RuleFlight, ClosedRuleFlight, ao.Flight]:
    case = next(c for c in SMALL_PLANET if c.rule is KICK and isinstance(c.insertion, insertion))
    flight = limited(case.flight, LEAST, AXIAL)
    closed = flight.fly(case.values)
    return flight, closed, ao.fly(flight.vehicle, flight.mission, closed.law)


EITHER = pytest.mark.parametrize("insertion", [type(CIRCLE), type(TANGENT)])


@EITHER
def test_the_acceleration_stays_at_its_limit(insertion: type) -> None:
    _, closed, flown = both(insertion)
    track = flown.trajectory
    assert np.nanmax(track.axial_acceleration) == pytest.approx(LIMIT, rel=1e-5)
    # A peak between steps may pass a limit by a thousandth and still count as kept.
    assert closed.end.peaks[2] == pytest.approx(LIMIT, rel=1e-3)
    throttled = (track.throttle < 1.0) & (track.throttle > 0.0)
    assert throttled.sum() > 10
    assert track.axial_acceleration[throttled] == pytest.approx(LIMIT, rel=1e-6)
    assert track.throttle[throttled].min() >= LEAST
    assert not list(broken_limits(flown, AXIAL))


@EITHER
def test_the_two_flights_agree(insertion: type) -> None:
    _, closed, flown = both(insertion)
    miss = closed.end.state - flown.final_state
    assert np.linalg.norm(miss[:3]) < 1.0
    assert np.linalg.norm(miss[3:6]) < 1e-3


def test_an_engine_does_no_more_than_it_can() -> None:
    flight, _, _ = both(type(CIRCLE))
    stiff = limited(flight, 0.9, AXIAL)
    closed = stiff.fly(SMALL_PLANET[0].values)
    flown = ao.fly(stiff.vehicle, stiff.mission, closed.law)
    track = flown.trajectory
    burning = track.throttle[track.throttle > 0.0]
    assert burning.min() == pytest.approx(0.9)
    assert [one.name for one in broken_limits(flown, AXIAL)] == ["axial acceleration"]
    miss = closed.end.state - flown.final_state
    assert np.linalg.norm(miss[:3]) < 1.0


def test_without_a_limit_it_is_full() -> None:
    case = SMALL_PLANET[0]
    closed = limited(case.flight, LEAST, ao.FlightLimits()).fly(case.values)
    assert closed.law.throttling is None
    free = case.flight.fly(case.values)
    assert closed.end.state == pytest.approx(free.end.state, rel=1e-9)


def test_a_pitch_rate_beyond_its_limit_is_told() -> None:
    _, _, flown = both(type(CIRCLE))
    # A kick is flown at 2 deg/s or more.
    (broken,) = broken_limits(flown, ao.FlightLimits(q_alpha=None, pitch_rate=1.5 * deg))
    assert broken.name == "pitch rate"
    assert broken.unit == "rad/s"
    assert "pitch rate" in str(broken)
    assert "limit 1.5 deg/s" in str(broken)


@dataclass(frozen=True)
class Pressed:
    """A vehicle that can ease to some throttle, and a limit (Pa) below what it meets at full."""

    flight: RuleFlight
    values: tuple[float, ...]
    limit: float

    @classmethod
    def of(cls, flight: RuleFlight, values: tuple[float, ...], limit: float) -> Pressed:
        limits = ao.FlightLimits(dynamic_pressure=limit, q_alpha=None)
        return cls(limited(flight, 0.5, limits), values, limit)

    @property
    def closed(self) -> ClosedRuleFlight:
        return self.flight.fly(self.values)

    def flown(self, closed: ClosedRuleFlight) -> ao.Flight:
        return ao.fly(self.flight.vehicle, self.flight.mission, closed.law)


def scenario(name: str, insertion: Insertion) -> RuleFlight:
    one = scenarios()[name]
    return RuleFlight(vehicle=one.vehicle, mission=one.mission, rule=KICK, insertion=insertion)


# At full throttle they meet more than 50 and 31 kPa.
BRISK = Pressed.of(scenario("earth-large-brisk", CIRCLE), (60.0, 0.14), 30 * kPa)
LARGE = Pressed.of(scenario("earth-weak-upper", TANGENT), (60.0, 3.11 * deg), 25 * kPa)
PRESSED = pytest.mark.parametrize("case", [BRISK, LARGE], ids=["coast", "tangent"])


@PRESSED
def test_the_dynamic_pressure_comes_to_its_limit_and_stays(case: Pressed) -> None:
    closed = case.closed
    track = case.flown(closed).trajectory
    pressure = np.asarray(track.dynamic_pressure)
    assert np.nanmax(pressure) <= case.limit
    assert closed.end.peaks[0] == pytest.approx(np.nanmax(pressure), rel=1e-4)
    eased = (track.throttle < 0.95) & (track.throttle > 0.51)
    assert np.ptp(track.time[eased]) > 5.0
    assert pressure[eased] == pytest.approx(case.limit, rel=0.12)
    assert np.ptp(track.time[pressure > 0.99 * case.limit]) > 5.0


@PRESSED
def test_the_two_flights_agree_on_what_the_pressure_leaves(case: Pressed) -> None:
    closed = case.closed
    miss = closed.end.state - case.flown(closed).final_state
    assert np.linalg.norm(miss[:3]) < 1.0
    assert np.linalg.norm(miss[3:6]) < 1e-3


def test_wind_counts_for_the_pressure_that_is_kept() -> None:
    air = LARGE.flight.mission.body.atmosphere
    assert air is not None
    jet = ao.Wind(
        altitude=(0.0, 4 * km, 9 * km, 14 * km, 30 * km),
        eastward=(0.0, 10.0, 40.0, 0.0, 0.0),
        northward=(0.0, 5.0, -5.0, 0.0, 0.0),
    )
    body = replace(LARGE.flight.mission.body, atmosphere=replace(air, wind=jet))
    windy = replace(LARGE.flight, mission=replace(LARGE.flight.mission, body=body))
    closed = tune(windy).best
    assert closed is not None
    flown = ao.fly(windy.vehicle, windy.mission, closed.law)
    assert np.nanmax(flown.trajectory.dynamic_pressure) == pytest.approx(LARGE.limit, rel=2e-3)
    assert not list(broken_limits(flown, windy.mission.limits))
    miss = closed.end.state - flown.final_state
    assert np.linalg.norm(miss[:3]) < 1.0


def test_an_engine_that_cannot_ease_so_far_breaks_the_limit() -> None:
    flight = limited(LARGE.flight, 0.9, LARGE.flight.mission.limits)
    flown = ao.fly(flight.vehicle, flight.mission, flight.fly(LARGE.values).law)
    throttle = flown.trajectory.throttle
    assert throttle[throttle > 0.0].min() == pytest.approx(0.9)
    assert [one.name for one in broken_limits(flown, flight.mission.limits)] == ["dynamic pressure"]


def test_without_air_there_is_nothing_to_ease_for() -> None:
    moon = scenario("moon-two-stages-slow", TANGENT)
    assert tune(limited(moon, 0.4, LARGE.flight.mission.limits)).best is not None


def test_tuning_keeps_a_pressure_that_steepness_alone_could_not() -> None:
    """This vehicle lacked 6.7 t within 25 kPa at full thrust, or broke the limit by a tenth."""
    slow = scenario("earth-large-slow", TANGENT)
    limits = replace(slow.mission.limits, dynamic_pressure=25 * kPa)
    flight = replace(slow, mission=replace(slow.mission, limits=limits))
    best = tune(flight).best
    assert best is not None
    assert best.debt == 0.0
    assert load_ratio(flight, best) <= 1.0
    # Full thrust and 35 kPa take 478736 kg.
    assert best.propellant_used < 478736.0 + 400.0

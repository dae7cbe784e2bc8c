"""Rules throttle where the mission limits the axial acceleration and the engine can."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.exceeded import broken_limits
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.units import deg
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
def both(insertion: type) -> tuple[RuleFlight, Closed, ao.Flight]:
    case = next(c for c in SMALL_PLANET if c.rule is KICK and isinstance(c.insertion, insertion))
    flight = limited(case.flight, LEAST, AXIAL)
    closed = flight.at(case.values)
    return flight, closed, ao.fly(flight.vehicle, flight.mission, closed.law)


EITHER = pytest.mark.parametrize("insertion", [type(CIRCLE), type(TANGENT)])


@EITHER
def test_the_acceleration_stays_at_its_limit(insertion: type) -> None:
    _, closed, flown = both(insertion)
    track = flown.trajectory
    assert np.nanmax(track.axial_acceleration) == pytest.approx(LIMIT, rel=1e-5)
    assert closed.end.peaks[2] == pytest.approx(LIMIT, rel=1e-4)
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
    closed = stiff.at(SMALL_PLANET[0].values)
    flown = ao.fly(stiff.vehicle, stiff.mission, closed.law)
    track = flown.trajectory
    burning = track.throttle[track.throttle > 0.0]
    assert burning.min() == pytest.approx(0.9)
    assert [one.name for one in broken_limits(flown, AXIAL)] == ["axial acceleration"]
    miss = closed.end.state - flown.final_state
    assert np.linalg.norm(miss[:3]) < 1.0


def test_without_a_limit_it_is_full() -> None:
    case = SMALL_PLANET[0]
    closed = limited(case.flight, LEAST, ao.FlightLimits()).at(case.values)
    assert closed.law.throttling is None
    free = case.flight.at(case.values)
    assert closed.end.state == pytest.approx(free.end.state, rel=1e-9)


def test_a_pitch_rate_beyond_its_limit_is_told() -> None:
    _, _, flown = both(type(CIRCLE))
    # A kick is flown at 2 deg/s.
    (broken,) = broken_limits(flown, ao.FlightLimits(q_alpha=None, pitch_rate=1.5 * deg))
    assert broken.name == "pitch rate"
    assert broken.unit == "rad/s"
    assert "pitch rate" in str(broken)
    assert "limit 1.5 deg/s" in str(broken)

"""Throttle programmes: what they command, and that compiled and independent flights agree."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.results.failure import FlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.knot_rule import CoastAndLevel, KnotRule
from ascentopt.steering.knots import Knots
from ascentopt.steering.programme import Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.units import deg, km, kPa
from ascentopt.world.orbital_elements import climb_and_level
from tests.studies.wren import MISSION, VEHICLE

MOST = 22.0
KEPT = replace(MISSION.limits, axial_acceleration=MOST, dynamic_pressure=80 * kPa)
LIMITED = replace(MISSION, limits=KEPT)
BUCKET = ThrottleProgramme(
    abscissae=(40.0, 50.0, 70.0, 80.0), throttles=(1.0, 0.7, 0.75, 1.0), acceleration=MOST
)
KNOTS = Knots(
    against=ao.Against.TIME,
    abscissae=(12.0, 90.0, 180.0, 420.0),
    pitches=tuple(a * deg for a in (85.0, 44.0, 25.0, 4.0)),
    stops=BUCKET.abscissae,
)


def throttling_vehicle() -> ao.Vehicle:
    lower, upper = VEHICLE.stages
    assert isinstance(lower.engine, ao.Engine)
    engine = replace(lower.engine, min_throttle=0.4)
    return replace(VEHICLE, stages=(replace(lower, engine=engine), upper))


def flight(throttling: ThrottleProgramme | None) -> RuleFlight:
    return RuleFlight(
        vehicle=throttling_vehicle(),
        mission=LIMITED,
        rule=KnotRule(start=KNOTS),
        insertion=CoastAndLevel(),
        throttling=throttling,
    )


@pytest.fixture(scope="module")
def closed() -> ClosedRuleFlight:
    return flight(BUCKET).fly((*KNOTS.abscissae, *KNOTS.pitches))


@pytest.fixture(scope="module")
def flown(closed: ClosedRuleFlight) -> ao.Flight:
    return ao.fly(throttling_vehicle(), LIMITED, closed.law)


def test_the_compiled_flight_is_the_independent_one(
    closed: ClosedRuleFlight, flown: ao.Flight
) -> None:
    """As well as without a throttle: 0.2 m of radius and 2e-4 m/s after half a revolution."""
    ends = [flown.final_state, closed.end.state]
    radii = [float(np.linalg.norm(end[:3])) for end in ends]
    speeds = [climb_and_level(end[:3], end[3:6]) for end in ends]
    assert radii[0] == pytest.approx(radii[1], abs=0.2)
    assert speeds[0] == pytest.approx(speeds[1], abs=2e-4)
    assert ends[0][6] == pytest.approx(ends[1][6], abs=1e-3)


def test_the_bucket_is_followed(flown: ao.Flight) -> None:
    lower = next(arc for arc in flown.trajectory.arcs if arc.name == "lower")
    early = lower.times < 85.0
    wanted = np.interp(lower.times, BUCKET.abscissae, BUCKET.throttles)
    assert lower.throttle[early] == pytest.approx(wanted[early], abs=1e-9)
    assert lower.throttle[early].min() == pytest.approx(0.7, abs=0.01)


def test_the_acceleration_is_kept_and_no_more_is_given_up(flown: ao.Flight) -> None:
    track = replace(
        flown.trajectory, arcs=tuple(a for a in flown.trajectory.arcs if a.name == "lower")
    )
    late = track.time > 85.0
    throttled = late & (track.throttle < 0.999)
    assert throttled.sum() > 5
    assert track.axial_acceleration[throttled] == pytest.approx(MOST, rel=1e-9)
    assert np.nanmax(track.axial_acceleration) < MOST * (1.0 + 1e-9)
    assert track.throttle[late & ~throttled] == pytest.approx(1.0, abs=1e-3)


def test_peaks_of_the_compiled_flight_know_the_throttle(closed: ClosedRuleFlight) -> None:
    assert closed.end.peaks[2] < 1.2 * MOST
    full = flight(None)
    law = replace(closed.law, throttling=None)
    quick = CompiledFlight(full._sequence(law.plan), law, allowed_debt=1e3)
    lit = quick.fly(quick.start(), 1)
    assert lit.peaks[2] > MOST
    assert lit.time < closed.end.begun[2] - 1.0  # full thrust is through sooner


def test_no_engine_is_throttled_below_its_least(closed: ClosedRuleFlight) -> None:
    deep = ThrottleProgramme(abscissae=(40.0, 45.0, 70.0, 80.0), throttles=(1.0, 0.1, 0.1, 1.0))
    law = replace(closed.law, throttling=deep)
    with pytest.raises(FlightError) as fell:  # it leads into no orbit
        ao.fly(throttling_vehicle(), LIMITED, law)
    lower = next(arc for arc in fell.value.trajectory.arcs if arc.name == "lower")
    assert lower.throttle.min() == pytest.approx(0.4)


def test_a_fixed_engine_pays_no_heed(closed: ClosedRuleFlight) -> None:
    flown = ao.fly(VEHICLE, replace(LIMITED, limits=MISSION.limits), closed.law)
    lower = next(arc for arc in flown.trajectory.arcs if arc.name == "lower")
    assert np.all(lower.throttle == 1.0)


def test_altitude_may_be_the_clock() -> None:
    by_height = ThrottleProgramme(
        against=ao.Against.ALTITUDE,
        abscissae=(4 * km, 8 * km, 12 * km),
        throttles=(1.0, 0.6, 1.0),
    )
    closed = flight(by_height).fly((*KNOTS.abscissae, *KNOTS.pitches))
    flown = ao.fly(throttling_vehicle(), LIMITED, closed.law)
    lower = replace(
        flown.trajectory, arcs=tuple(a for a in flown.trajectory.arcs if a.name == "lower")
    )
    wanted = np.interp(lower.altitude, by_height.abscissae, by_height.throttles)
    assert lower.throttle == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize(
    "wrong",
    [
        {"abscissae": (2.0, 1.0), "throttles": (1.0, 1.0)},
        {"abscissae": (1.0,), "throttles": (1.0, 0.5)},
        {"throttles": (0.0,)},
        {"throttles": (1.1,)},
        {"acceleration": 0.0},
        {"dynamic_pressure": -1.0},
        {"against": ao.Against.AIR_SPEED},
    ],
)
def test_what_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ao.InputError, match="ThrottleProgramme"):
        ThrottleProgramme(**wrong)  # type: ignore[arg-type]


def test_one_throttle_is_given_once(closed: ClosedRuleFlight) -> None:
    with pytest.raises(ao.InputError, match="Leave throttle at 1"):
        Programme(plan=closed.law.plan, steps=closed.law.steps, throttle=0.8, throttling=BUCKET)


def test_people_can_read_it() -> None:
    text = str(BUCKET)
    assert "time since lift-off (s)" in text
    assert "0.750" in text
    assert "within 22 m/s^2" in text
    assert "dynamic pressure within 25 kPa" in str(ThrottleProgramme(dynamic_pressure=25 * kPa))
    assert str(ThrottleProgramme()) == "full throttle"

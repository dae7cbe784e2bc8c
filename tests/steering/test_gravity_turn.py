"""The gravity turn: vertical, kick, hold, and then no angle of attack."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import AfterDuration, AtAirSpeed, AtAltitude, AtApoapsisRadius
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.simulation.simulate import fly
from ascentopt.rules.laws.kick import kicked, tip_over_rate
from ascentopt.rules.laws.rule import Pad
from ascentopt.steering import GravityTurn, Kick
from ascentopt.steering.gravity_turn import kick_of
from ascentopt.steering.programme import Programme
from ascentopt.units import deg, km
from ascentopt.world import Body, moon
from tests.flight.rockets import boosted, mission, plain

PLAN = FlightPlan(inserting_stage=1)
PAD = Pad(mission=mission(), sequence=sequence_of(plain(), mission(), PLAN), heading=1.5)
KICK = Kick(at=AtAirSpeed(70.0), angle=3 * deg, heading=75 * deg)


def flown(kick: Kick = KICK, body: Body | None = None) -> Flight:
    return fly(plain(), mission(body), turn(kick))


def turn(kick: Kick) -> GravityTurn:
    return GravityTurn(plan=PLAN, kick=kick, endings=(("upper", AfterDuration(60.0)),))


@pytest.fixture(scope="module")
def track() -> Trajectory:
    return flown().trajectory


def test_it_flies_straight_up_until_the_kick(track: Trajectory) -> None:
    before = track.air_speed < 69.99
    assert before.sum() > 10
    assert np.degrees(track.pitch[before]) == pytest.approx(90.0, abs=1e-5)


def test_the_kick_leans_at_its_rate_to_its_angle_and_heading(track: Trajectory) -> None:
    start = float(np.interp(70.0, track.air_speed[:400], track.time[:400]))
    half = track.at(start + 0.75)  # 2 deg/s for 1.5 s
    assert np.degrees(half.pitch) == pytest.approx(90.0 - 1.5, abs=0.02)
    after = track.at(start + 1.6)
    assert np.degrees(after.pitch) == pytest.approx(87.0, abs=1e-6)
    assert np.degrees(after.heading) == pytest.approx(75.0, abs=1e-6)
    assert np.degrees(after.angle_of_attack) > 2.0


def test_then_it_flies_along_its_motion_through_the_air(track: Trajectory) -> None:
    late = (track.time > 60.0) & ~np.isnan(track.angle_of_attack)
    assert np.degrees(track.angle_of_attack[late]).max() < 1e-5
    assert track.pitch[late] == pytest.approx(track.air_flight_path_angle[late], abs=1e-7)


def test_no_steering_is_lost_after_the_kick() -> None:
    assert flown().budget.steering < 0.5


def test_the_more_it_is_kicked_the_flatter_it_flies() -> None:
    angles = [flown(replace(KICK, angle=a * deg)).trajectory.altitude[-1] for a in (2, 3, 4)]
    assert angles[0] > angles[1] > angles[2]


def test_the_kick_waits_for_the_end_of_the_vertical_rise() -> None:
    early = flown(Kick(at=AtAirSpeed(1.0), angle=2 * deg), moon()).trajectory
    rise, core = early.arcs[0], early.arcs[1]
    assert rise.name == "vertical rise"
    leaned = Trajectory(arcs=(core,)).at(core.times[0] + 0.5)
    assert np.degrees(leaned.pitch) == pytest.approx(89.0, abs=1e-6)


def test_phases_go_on_through_the_drop_of_boosters() -> None:
    vehicle = boosted()
    late = Kick(at=AtAltitude(8 * km), angle=4 * deg)
    track = fly(vehicle, mission(), turn(late)).trajectory
    low = track.altitude < 7.999 * km
    assert np.degrees(track.pitch[low]) == pytest.approx(90.0, abs=1e-5)
    assert np.degrees(track.pitch[-1]) < 85.5
    assert np.degrees(track.angle_of_attack[-1]) < 1e-5


def test_it_turns_without_air_too() -> None:
    target = moon().radius + 300 * km
    law = GravityTurn(
        plan=FlightPlan(inserting_stage=0),
        kick=Kick(at=AtAltitude(150.0), angle=5 * deg, rate=10 * deg),
        endings=(("core", AtApoapsisRadius(target)),),
    )
    track = fly(replace(plain(), fairing=None), mission(moon()), law).trajectory
    assert np.degrees(track.angle_of_attack[-1]) < 1e-5
    assert track.altitude[-1] > 1 * km


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"angle": 0.0}, "angle is 0.0 rad"),
        ({"angle": 2.0}, "less than 90 degrees"),
        ({"rate": -1.0}, "rate is -1.0 rad/s"),
        ({"heading": 90.0}, "clockwise from north"),
        ({"at": 60.0}, "AtAirSpeed"),
    ],
)
def test_kicks_that_cannot_be(change: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        replace(KICK, **change)  # type: ignore[arg-type]


def test_a_programme_that_begins_with_a_kick_tells_it() -> None:
    steps = kicked(45.0, 6 * deg, PAD)
    found = kick_of(Programme(plan=FlightPlan(inserting_stage=0), steps=steps))
    assert found is not None
    assert found.at == AtAirSpeed(45.0)
    assert found.angle == pytest.approx(6 * deg)
    assert found.heading == 1.5
    assert found.rate == pytest.approx(tip_over_rate(PAD))


def test_others_have_no_kick_to_tell() -> None:
    smooth = Programme(plan=FlightPlan(inserting_stage=0), steps=kicked(45.0, 6 * deg, PAD)[3:])
    assert kick_of(smooth) is None
    assert kick_of(GravityTurn(plan=FlightPlan(inserting_stage=0), kick=None)) is None

"""A law of the user's own, flown."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import ArrayLike

import ascentopt as ao
from ascentopt.flight.guidance.ending import AfterDuration, AtAirSpeed
from ascentopt.flight.guidance.moment import Moment
from ascentopt.units import deg
from tests.flight.rockets import mission, plain

PLAN = ao.FlightPlan(inserting_stage=1)
ENDINGS = (("upper", AfterDuration(60.0)),)


def turning(now: Moment) -> ArrayLike:
    """Leans by a degree in three seconds, towards 75 degrees, and is twice too long."""
    lean, heading = deg * now.time / 3.0, 75 * deg
    side = np.sin(lean)
    thrust = now.inertial(np.cos(lean), side * np.sin(heading), side * np.cos(heading))
    return 2.0 * np.array(thrust)


def flown(direction: object) -> ao.Flight:
    law = ao.CallableSteering(plan=PLAN, direction=direction, endings=ENDINGS)  # type: ignore[arg-type]
    return ao.fly(plain(), mission(), law)


def test_thrust_points_where_the_callable_says() -> None:
    track = flown(turning).trajectory
    for time in (20.0, 50.0, 90.0):
        there = track.at(time)
        assert np.degrees(there.pitch) == pytest.approx(90.0 - time / 3.0, abs=1e-4)
        assert np.degrees(there.heading) == pytest.approx(75.0, abs=1e-4)


def tipping(now: Moment) -> ArrayLike:
    """Tips over by 3 degrees at 70 m/s, and follows the motion once it leans as far."""
    if now.air_speed < 70.0:
        return now.up
    leaned = np.arccos(float(now.air_velocity @ now.up) / now.air_speed)
    if leaned < 3 * deg:
        return now.inertial(float(np.cos(3 * deg)), float(np.sin(3 * deg)), 0.0)
    return now.air_velocity


def test_a_gravity_turn_written_by_hand_is_the_gravity_turn() -> None:
    kick = ao.Kick(at=AtAirSpeed(70.0), angle=3 * deg, rate=1e5 * deg)
    turn = ao.fly(plain(), mission(), ao.GravityTurn(plan=PLAN, kick=kick, endings=ENDINGS))
    miss = flown(tipping).final_state - turn.final_state
    # The spin of the body gives the motion a thousandth of a degree across the kick's plane.
    assert np.linalg.norm(miss[:3]) < 50.0
    assert np.linalg.norm(miss[3:6]) < 0.2


@pytest.mark.parametrize("wrong", [(0.0, 0.0, 0.0), (1.0, 0.0), (np.nan, 0.0, 1.0), 1.0])
def test_what_is_no_direction_is_refused(wrong: ArrayLike) -> None:
    with pytest.raises(ao.InputError, match=r"three finite numbers.*Return an inertial vector"):
        flown(lambda now: wrong)


def test_what_cannot_be_called_is_refused() -> None:
    with pytest.raises(ao.InputError, match="direction is 3; it must be callable"):
        ao.CallableSteering(plan=PLAN, direction=3)  # type: ignore[arg-type]


def test_an_open_end_is_refused() -> None:
    law = ao.CallableSteering(plan=PLAN, direction=turning)
    with pytest.raises(ao.InputError, match="upper"):
        ao.fly(plain(), mission(), law)

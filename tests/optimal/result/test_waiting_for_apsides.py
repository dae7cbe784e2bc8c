"""Over the equator a periapsis has a direction among the stars: the launch waits for it."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.mission.lift_off import day, waits_for_its_orbit
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.result.lift_off_instant import (
    with_awaited_angles_free,
    with_lift_off_instants,
)
from ascentopt.units import deg, km
from ascentopt.world.orbital_elements import elements
from tests.optimal.launchers import lander, moon_mission

STILL = replace(ao.moon(), rotation_rate=0.0)


def to(
    argument: float | None,
    inclination: float = 0.0,
    *,
    longitude: float = 0.0,
    instant: float | None = None,
    latitude: float = 20 * deg,
    node: float | None = None,
) -> ao.Mission:
    """To a lunar ellipse; angles in rad."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=60 * km,
        apoapsis_altitude=900 * km,
        inclination=inclination,
        ascending_node=node,
        argument_of_periapsis=argument,
    )
    site = ao.LaunchSite(latitude=latitude, longitude=longitude)
    return replace(moon_mission(), orbit=orbit, site=site, lift_off_time=instant)


def with_two_restarts() -> ao.Vehicle:
    """Off the equator the plane is turned at the apoapsis."""
    one = lander()
    return replace(one, stages=(replace(one.stages[0], restarts=2),))


def east_of_the_x_axis(ascent: ao.Ascent) -> float:
    """Right ascension of the periapsis that is reached, in rad."""
    final = ascent.trajectory.final_state
    orbit = elements(ascent.mission.body.gravitational_parameter, final[:3], final[3:6])
    turn = 1.0 if orbit.inclination < 1.0 else -1.0
    return orbit.ascending_node + turn * orbit.argument_of_periapsis


angles = st.floats(-2 * pi, 2 * pi)


@given(angles, angles, st.sampled_from([0.0, 3e-7, pi - 3e-7, pi]))
def test_any_argument_and_longitude_is_one_program(
    argument: float, longitude: float, inclination: float
) -> None:
    """Turned about the spin axis it is the same flight: one is solved, whatever is asked for."""
    mission = to(argument, inclination, longitude=longitude)
    solved = with_awaited_angles_free(mission)
    assert solved.orbit == to(None, inclination).orbit
    assert solved.right_ascension == pytest.approx(0.0, abs=1e-14)
    assert not waits_for_its_orbit(solved)


@given(angles, st.floats(2e-6, pi - 2e-6))
def test_elsewhere_an_argument_counts_from_the_node_and_waits_for_nothing(
    argument: float, inclination: float
) -> None:
    mission = to(argument, inclination)
    assert not waits_for_its_orbit(mission)
    assert with_awaited_angles_free(mission) is mission


@given(angles, angles, st.floats(2e-6, pi - 2e-6))
def test_of_a_node_and_an_argument_the_node_is_waited_for(
    argument: float, node: float, inclination: float
) -> None:
    mission = to(argument, inclination, node=node)
    assert with_awaited_angles_free(mission).orbit == to(argument, inclination).orbit


def test_a_fixed_instant_and_a_body_that_does_not_turn_leave_nothing_to_wait_for() -> None:
    for mission in (to(1.0, instant=0.0), replace(to(1.0), body=STILL)):
        assert not waits_for_its_orbit(mission)
        assert with_awaited_angles_free(mission) is mission


@pytest.mark.slow
@pytest.mark.parametrize("inclination", [0.0, pi])
def test_any_argument_costs_the_same_and_is_reached(inclination: float) -> None:
    free = ao.optimize(with_two_restarts(), to(None, inclination))
    turn, rate = (1.0 if inclination == 0.0 else -1.0), ao.moon().rotation_rate
    instants = []
    for argument, longitude in ((0.3, 0.0), (-2.0, 0.0), (4.0, 1.0)):
        found = ao.optimize(with_two_restarts(), to(argument, inclination, longitude=longitude))
        assert found.certificate.verdict is Verdict.CERTIFIED
        assert found.propellant_used == pytest.approx(free.propellant_used, rel=1e-9)
        assert cos(east_of_the_x_axis(found) - turn * argument) == pytest.approx(1.0, abs=1e-10)
        assert found.mission.lift_off_time is not None
        assert 0.0 <= found.mission.lift_off_time < day(ao.moon())
        instants.append(rate * found.mission.lift_off_time + longitude - turn * argument)
    assert cos(instants[1] - instants[0]) == pytest.approx(1.0, abs=1e-9)
    assert cos(instants[2] - instants[0]) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.slow
def test_solved_at_the_instant_that_was_found_it_is_the_same_ascent() -> None:
    """No other instant is better: the slope by the instant is nothing there."""
    waiting = ao.optimize(with_two_restarts(), to(1.0))
    assert f"lift-off at {waiting.mission.lift_off_time:.1f} s of a day" in str(waiting)
    for name in ("argument of periapsis", "lift-off time"):
        with pytest.raises(KeyError, match=r"free|waits for it"):
            waiting.partials[name]
    timed = ao.optimize(with_two_restarts(), waiting.mission)
    assert timed.propellant_used == pytest.approx(waiting.propellant_used, rel=1e-6)
    assert abs(timed.partials["argument of periapsis"].propellant) < 1e-2
    assert abs(timed.partials["lift-off time"].propellant) < 1e-4


def test_the_mission_says_what_it_waits_for() -> None:
    assert "lift-off: when its line of apsides comes round" in str(to(1.0))
    assert "lift-off" not in str(to(None))


def told(mission: ao.Mission, shortfall: float) -> str:
    """What is added to a refusal."""
    refusal = ao.InfeasibleAscent("It is out of reach.", shortfall=shortfall)
    return with_lift_off_instants(refusal, mission).message.removeprefix(refusal.message)


def test_a_refusal_at_a_fixed_instant_says_that_it_may_wait() -> None:
    """Half a turn of the apsides takes 2 e sqrt(mu/p), 574 m/s here; ten times as much is no help.

    Nothing is said where the launch waits, or has nothing to wait for.
    """
    fixed = to(1.0, instant=12.0)
    assert told(fixed, 500.0) == (
        " At lift_off_time, 12.0 s, the line of apsides may be out of reach. Leave lift_off_time "
        "None to wait for the best instant."
    )
    assert told(fixed, 5650.0) != ""
    assert told(fixed, 5850.0) == ""
    for mission in (to(1.0), to(None, instant=12.0), to(1.0, 0.5, instant=12.0)):
        assert told(mission, 500.0) == ""

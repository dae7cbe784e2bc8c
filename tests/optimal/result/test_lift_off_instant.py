"""The launch waits for its plane: what a free instant gives, and what a fixed one costs."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.mission import plane_passes
from ascentopt.mission.lift_off import day
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.bounds.lift_off import check_lift_off
from ascentopt.optimal.problem.target.aim import launch_plane
from ascentopt.report import flight_card
from ascentopt.rocket.performance import burns
from ascentopt.units import deg, km
from ascentopt.world.orbital_elements import OrbitalElements, elements
from tests.optimal.launchers import (
    earth_mission,
    four_phase_launcher,
    four_phase_mission,
    lander,
    moon_mission,
    small_launcher,
)
from tests.report.looking import written

NODE = 1.0


def mission(node: float | None = NODE, inclination: float | None = 30 * deg) -> ao.Mission:
    orbit = ao.CircularOrbit(altitude=100 * km, inclination=inclination, ascending_node=node)
    return replace(moon_mission(), orbit=orbit)


def single_burn() -> ao.Vehicle:
    one = lander()
    return replace(one, stages=(replace(one.stages[0], restarts=0),))


@pytest.fixture(scope="module")
def anywhere() -> ao.Ascent:
    return ao.optimize(lander(), mission(node=None))


@pytest.fixture(scope="module")
def waiting() -> ao.Ascent:
    return ao.optimize(lander(), mission())


@pytest.fixture(scope="module")
def timed(waiting: ao.Ascent) -> ao.Ascent:
    """Solved at the instant that was found."""
    return ao.optimize(lander(), waiting.mission)


def reached(ascent: ao.Ascent) -> OrbitalElements:
    final = ascent.trajectory.final_state
    return elements(ascent.mission.body.gravitational_parameter, final[:3], final[3:6])


def assert_in_the_orbit(ascent: ao.Ascent, tilt: float = 1e-7) -> None:
    """In its plane, to so many rad of the inclination."""
    found, wanted = reached(ascent), ascent.mission.orbit
    assert wanted.ascending_node is not None
    assert cos(found.ascending_node - wanted.ascending_node) == pytest.approx(1.0, abs=1e-12)
    if wanted.inclination is not None:
        assert found.inclination == pytest.approx(wanted.inclination, abs=tilt)


def test_a_node_costs_nothing_where_the_launch_waits(
    anywhere: ao.Ascent, waiting: ao.Ascent
) -> None:
    assert waiting.propellant_used == pytest.approx(anywhere.propellant_used, rel=1e-6)
    assert not waiting.certificate.beyond()
    assert_in_the_orbit(waiting)


def test_the_instant_is_named_within_the_first_day_and_near_a_pass(waiting: ao.Ascent) -> None:
    instant = waiting.mission.lift_off_time
    assert instant is not None
    assert 0.0 <= instant < day(ao.moon())
    nearest = min(abs(instant - one.time) for one in plane_passes(mission()))
    assert nearest * ao.moon().rotation_rate < 0.5 * deg
    passes = " and ".join(map(str, plane_passes(mission())))
    assert f"lift-off at {instant:.1f} s of a day of {day(ao.moon()):.1f} s" in str(waiting)
    assert f"the site lies in the orbit's plane at {passes}" in str(waiting)


@pytest.mark.parametrize(("node", "longitude"), [(2.5, -3.0), (-6.0, 2.0)])
def test_node_and_longitude_only_move_the_instant(
    waiting: ao.Ascent, node: float, longitude: float
) -> None:
    site = replace(mission().site, longitude=longitude)
    other = ao.optimize(lander(), replace(mission(node), site=site))
    assert other.propellant_used == pytest.approx(waiting.propellant_used, rel=1e-9)
    assert_in_the_orbit(other)
    assert other.mission.lift_off_time is not None
    assert waiting.mission.lift_off_time is not None
    later = other.mission.lift_off_time - waiting.mission.lift_off_time
    turned = ao.moon().rotation_rate * later - (node - NODE - longitude)
    assert cos(turned) == pytest.approx(1.0, abs=1e-12)


def test_solved_at_the_instant_that_was_found_it_is_the_same_ascent(
    waiting: ao.Ascent, timed: ao.Ascent
) -> None:
    assert timed.propellant_used == pytest.approx(waiting.propellant_used, rel=1e-6)
    assert timed.mission == waiting.mission
    assert_in_the_orbit(timed)


def test_at_the_best_instant_nothing_is_gained_by_another(timed: ao.Ascent) -> None:
    assert abs(timed.partials["lift-off time"].propellant) < 1e-5
    assert abs(timed.partials["ascending node"].propellant) < 1e-3


def test_what_is_free_has_no_partial(waiting: ao.Ascent) -> None:
    for name in ("ascending node", "lift-off time"):
        with pytest.raises(KeyError, match=r"free|waits for it"):
            waiting.partials[name]


@pytest.mark.slow
def test_both_passes_work(waiting: ao.Ascent) -> None:
    """North- and southward differ by what the mass of the equator's bulge does to the flight."""
    for one in plane_passes(mission()):
        found = ao.optimize(lander(), replace(mission(), lift_off_time=one.time))
        assert found.propellant_used == pytest.approx(waiting.propellant_used, rel=1e-4)
        assert_in_the_orbit(found)


def test_a_later_instant_costs_as_much_as_a_plane_further_west(waiting: ao.Ascent) -> None:
    """Both move the site against the plane; the partial of the node is for a degree of it."""
    instant = plane_passes(mission())[0].time + 0.05 / ao.moon().rotation_rate
    off = ao.optimize(lander(), replace(mission(), lift_off_time=instant))
    assert off.propellant_used > 1.0 + waiting.propellant_used
    turned = ao.moon().rotation_rate / deg
    node, later = off.partials["ascending node"], off.partials["lift-off time"]
    assert later.propellant == pytest.approx(-turned * node.propellant, rel=1e-2)
    assert later.propellant > 0.0


def test_the_saved_answer_flies_from_the_same_instant(waiting: ao.Ascent, tmp_path: Path) -> None:
    waiting.save(tmp_path / "ascent.json")
    again = ao.Ascent.load(tmp_path / "ascent.json")
    assert again.mission == waiting.mission
    assert str(again) == str(waiting)
    flight = ao.fly(again.vehicle, again.mission, again.steering)
    assert np.linalg.norm(flight.final_state[:3] - waiting.trajectory.final_state[:3]) < 1e-3


def test_what_was_saved_before_there_was_an_instant_lifted_off_at_zero(
    timed: ao.Ascent, tmp_path: Path
) -> None:
    old = replace(timed, mission=replace(timed.mission, lift_off_time=None))
    old.save(tmp_path / "old.json")
    data = persistence.read(tmp_path / "old.json")
    del data["mission"]["fields"]["lift_off_time"]
    persistence.write(tmp_path / "old.json", data | {"version": 2})
    assert ao.Ascent.load(tmp_path / "old.json").mission.lift_off_time == 0.0


def test_the_card_says_when_to_lift_off(waiting: ao.Ascent) -> None:
    text = " ".join(text for text, _ in written(flight_card(waiting)))
    instant, length = waiting.mission.lift_off_time, day(ao.moon())
    assert f"Lift-off at {instant:.1f} s of a day of {length:.1f} s" in text


def test_a_pass_that_is_missed_is_named_in_the_refusal() -> None:
    """A quarter of the way from one to the other the only burn does not reach the plane."""
    first, second = plane_passes(mission())
    missed = replace(mission(), lift_off_time=first.time + 0.5 * (second.time - first.time))
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(single_burn(), missed)
    coming = plane_passes(mission(), missed.lift_off_time or 0.0)
    assert coming[0].time == pytest.approx(second.time)
    assert coming[1].time == pytest.approx(first.time + day(ao.moon()))
    assert f"the site lies in the orbit's plane at {coming[0]} and {coming[1]}." in str(
        refusal.value
    )
    assert ao.optimize(single_burn(), mission()).propellant_margin > 0.0


def test_a_refusal_that_waiting_does_not_mend_does_not_speak_of_it() -> None:
    heavy = replace(lander(), payload_mass=8000.0)
    for instant in (plane_passes(mission())[0].time, None):
        with pytest.raises(ao.InfeasibleAscent) as refusal:
            ao.optimize(heavy, replace(mission(), lift_off_time=instant))
        assert "lift_off_time" not in str(refusal.value)


def stopped_with_a_flight() -> ao.Ascent:
    """What is handed over by the first of ever longer searches that is stopped with a flight.

    One is found after a twentieth of the time that the answer takes.
    """
    seconds = 0.05
    while True:
        try:
            ao.optimize(lander(), mission(), time_limit=seconds)
        except ao.OutOfTime as stop:
            if isinstance(stop.best, ao.Ascent):
                return stop.best
        else:
            raise AssertionError("the answer came before a search was stopped with a flight")
        seconds *= 1.3


def test_a_stopped_search_hands_over_its_flight_in_the_plane() -> None:
    best = stopped_with_a_flight()
    instant = best.mission.lift_off_time
    assert instant is not None
    assert 0.0 <= instant < day(ao.moon())
    assert best.mission.orbit == mission().orbit
    assert best.candidates[0].standing is Standing.UNFINISHED
    # On a first mesh the flight misses the plan, and says so; its plane is tilted by no more.
    final, told = best.trajectory.final_state, best.certificate
    missed = told.position_miss / np.linalg.norm(final[:3])
    missed += told.velocity_miss / np.linalg.norm(final[3:6])
    assert missed < 1e-4
    assert_in_the_orbit(best, tilt=float(missed))


@pytest.mark.parametrize("latitude", [90 * deg, 89.99 * deg])
def test_a_launch_from_near_a_pole_turns_with_its_table(latitude: float) -> None:
    """East turns about there, so the table has another axis, which is turned as well."""
    orbit = replace(mission().orbit, inclination=90 * deg)
    site = ao.LaunchSite(latitude=latitude, longitude=0.3)
    found = ao.optimize(lander(), replace(mission(), orbit=orbit, site=site))
    assert not found.certificate.beyond()
    assert_in_the_orbit(found)


def test_from_the_equator_any_instant_suits_a_node_of_any_plane() -> None:
    """The least costly plane is the equator's, which has no node."""
    found = ao.optimize(
        lander(), replace(mission(inclination=None), site=ao.LaunchSite(latitude=0))
    )
    assert reached(found).inclination < 1e-5
    assert not found.certificate.beyond()


@pytest.mark.slow
def test_a_node_without_an_inclination_is_met_by_the_plane_that_costs_least() -> None:
    free = ao.optimize(lander(), mission(node=None, inclination=None))
    found = ao.optimize(lander(), mission(inclination=None))
    assert found.propellant_used == pytest.approx(free.propellant_used, rel=1e-6)
    assert_in_the_orbit(found)


def test_on_a_body_that_does_not_turn_there_is_nothing_to_wait_for() -> None:
    still = replace(ao.moon(), rotation_rate=0.0)
    found = ao.optimize(lander(), replace(mission(), body=still, site=in_plane()))
    assert found.mission.lift_off_time is None
    assert_in_the_orbit(found)


def in_plane() -> ao.LaunchSite:
    """Where the site of the mission is at a pass, as a place of its own."""
    first = plane_passes(mission())[0].time
    return ao.LaunchSite(latitude=10 * deg, longitude=first * ao.moon().rotation_rate)


def test_waiting_beats_the_published_instant() -> None:
    """A fifth of a degree of node, in a plane due east of the site."""
    fixed = ao.optimize(four_phase_launcher(), four_phase_mission())
    free = ao.optimize(four_phase_launcher(), replace(four_phase_mission(), lift_off_time=None))
    assert free.final_mass > fixed.final_mass
    assert free.final_mass == pytest.approx(fixed.final_mass, rel=2e-3)
    assert_in_the_orbit(free)


@pytest.mark.parametrize("inclination", [5 * deg, 175 * deg])
def test_a_plane_below_the_latitude_needs_a_burn_after_a_coast(inclination: float) -> None:
    below = mission(node=None, inclination=inclination)
    least = "must be between 10 and 170 deg, the geocentric latitude.* nothing that could be lit"
    with pytest.raises(ao.InputError, match=least):
        check_lift_off(single_burn(), below)
    check_lift_off(lander(), below)  # it can be lit again
    kept = replace(below, reserve=ao.DeorbitReserve(periapsis_altitude=-50 * km))
    with pytest.raises(ao.InputError, match=least):  # but once only, to come down
        check_lift_off(lander(), kept)


def test_two_stages_may_always_coast_between() -> None:
    orbit = ao.CircularOrbit(altitude=300 * km, inclination=5 * deg)
    check_lift_off(small_launcher(), replace(earth_mission(), orbit=orbit))


def test_a_plane_due_east_to_the_last_digit_is_no_plane_below() -> None:
    check_lift_off(single_burn(), mission(node=None, inclination=10 * deg - 1e-12))
    check_lift_off(single_burn(), mission(node=None, inclination=pi - 10 * deg + 1e-12))


@pytest.mark.parametrize("inclination", [0.0, 3 * deg, 11 * deg, 170 * deg, pi])
def test_the_guess_for_a_plane_below_the_latitude_flies_due_east_or_west(
    inclination: float,
) -> None:
    orbit = ao.CircularOrbit(altitude=300 * km, inclination=inclination)
    to = replace(earth_mission(), orbit=orbit)
    sequence = sequence_of(small_launcher(), to, direct(small_launcher()))
    normal = launch_plane(sequence, to)
    assert np.linalg.norm(normal) == pytest.approx(1.0)
    place = np.array(sequence.position)
    along = np.cross(normal, place / np.linalg.norm(place))
    assert along[1] == pytest.approx(1.0 if inclination < 1.0 else -1.0)


def test_the_bound_of_a_plane_below_the_latitude_counts_no_more_than_the_spin_of_the_site() -> None:
    free = impulsive_bound(earth_mission())
    for inclination in (0.0, 5 * deg, 170 * deg, pi):
        orbit = ao.CircularOrbit(altitude=300 * km, inclination=inclination)
        assert impulsive_bound(replace(earth_mission(), orbit=orbit)) == free


def test_a_flight_into_a_plane_below_the_latitude_takes_more_than_its_bound() -> None:
    below = mission(inclination=5 * deg)
    found = ao.optimize(lander(), below)
    assert_in_the_orbit(found)
    start, end = found.vehicle.lift_off_mass, found.final_mass
    exhaust = burns(found.vehicle)[0].delta_v / np.log(start / (start - 5200.0))
    assert exhaust * np.log(start / end) > impulsive_bound(below)

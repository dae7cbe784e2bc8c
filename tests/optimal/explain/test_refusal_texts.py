"""What a refusal says: no more than is known, and each structure once."""

from __future__ import annotations

from dataclasses import replace

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.explain.refusal import infeasible
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.task import Task
from ascentopt.units import deg
from tests.optimal.launchers import lander, moon_mission, small_launcher

HALF_A_REVOLUTION = FlightPlan(inserting_stage=0, restarts=1)


def short_by(task: Task, plan: FlightPlan, speed: float | None) -> Attempt:
    """What is left when a structure falls short; None where not even that is known."""
    solved = attempt_at(task, direct(task.vehicle, 0))
    return replace(
        solved,
        plan=plan,
        solution=None,
        nearest_flight=None,
        shortfall=speed,
        shortfall_keeps_limits=True,
    )


def refusal_of(*known: tuple[FlightPlan, float | None]) -> ao.InfeasibleAscent:
    task = task_of(lander(), moon_mission())
    return infeasible(task, [short_by(task, plan, speed) for plan, speed in known])


def test_without_air_no_limit_on_loads_is_worth_relaxing() -> None:
    refusal = refusal_of((direct(lander(), 0), 700.0))
    assert "relax" not in str(refusal)
    assert "the orbit cannot be reached; short by 700.0 m/s" in str(refusal)


def test_an_acceleration_limit_is_worth_relaxing_anywhere() -> None:
    mission = moon_mission()
    pushed = replace(mission, limits=ao.FlightLimits(axial_acceleration=30.0))
    task = task_of(lander(), pushed)
    refusal = infeasible(task, [short_by(task, direct(lander(), 0), 700.0)])
    assert "or relax a limit" in str(refusal)


def test_a_structure_that_is_unsolved_leaves_it_open_whether_the_orbit_is_reached() -> None:
    refusal = refusal_of((HALF_A_REVOLUTION, None), (direct(lander(), 0), 700.0))
    assert "no flight to the orbit was found; the nearest is short by 700.0 m/s" in str(refusal)
    assert refusal.shortfall == 700.0


def test_a_structure_tried_from_two_starts_is_told_once_by_the_nearer() -> None:
    refusal = refusal_of(
        (HALF_A_REVOLUTION, None), (HALF_A_REVOLUTION, 30.0), (direct(lander(), 0), 700.0)
    )
    assert str(refusal).count("burn, coast, burn") == 1
    assert "burn, coast, burn: short by 30.0 m/s; direct insertion: short by" in str(refusal)


def test_plans_of_one_text_are_told_apart_by_where_the_fairing_goes() -> None:
    plain = direct(small_launcher(), 1)
    first, second = replace(plain, fairing_arc="first"), replace(plain, fairing_arc="second")
    assert first.beside([first, plain]) == "direct insertion, fairing dropped in 'first'"
    assert plain.beside([second, plain]) == "direct insertion, fairing kept"
    assert second.beside([second, replace(plain, restarts=1)]) == "direct insertion"


def test_an_inclination_below_the_latitude_is_named_where_the_orbit_is_out_of_reach() -> None:
    over_the_equator = moon_mission()
    site = ao.LaunchSite(latitude=40.0 * deg)
    orbit = replace(over_the_equator.orbit, inclination=17.0 * deg)
    task = task_of(lander(), replace(over_the_equator, site=site, orbit=orbit))
    told = str(infeasible(task, [short_by(task, direct(lander(), 0), 700.0)]))
    assert "inclination of 17 deg is below the site's latitude of 40 deg" in told
    steep = replace(task.mission, orbit=replace(orbit, inclination=50.0 * deg))
    task = task_of(lander(), steep)
    told = str(infeasible(task, [short_by(task, direct(lander(), 0), 700.0)]))
    assert "latitude" not in told

"""Ellipses with a placed periapsis: entered where that is best, by the better heading of two."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import fly_guess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.target.aim import launch_plane
from ascentopt.optimal.problem.violations import limits_if_imposed
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.result.place_on_orbit import ended_where_best
from ascentopt.optimal.solve.attempt_at import attempt_at, attempt_from_first_guess
from ascentopt.optimal.solve.from_neighbour import solve_from_neighbour
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.by_parking_orbit import through_the_circle
from ascentopt.optimal.task import Task
from ascentopt.units import deg, km, kN, tonne
from ascentopt.world.orbital_elements import elements
from tests.optimal.launchers import lander
from tests.optimal.structure.launches import (
    a_placed_ellipse_of_the_moon,
    a_throttled_stage_to_a_placed_periapsis,
    an_ellipse_far_round_from_the_pad,
)
from tests.optimal.three_stages import spoonbill


def two_stages(restarts: int = 1, propellant: float = 11.5, thrust: float = 95.0) -> ao.Vehicle:
    """A launcher whose second stage has so many tonnes and kN."""
    return ao.Vehicle(
        name="Quillet", payload_mass=1.1 * tonne,
        stages=(
            ao.Stage(name="first", propellant_mass=62 * tonne, dry_mass=4.8 * tonne,
                     engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=312.0,
                                      sea_level_isp=283.0)),
            ao.Stage(name="second", propellant_mass=propellant * tonne, dry_mass=0.95 * tonne,
                     restarts=restarts,
                     engine=ao.Engine(vacuum_thrust=thrust * kN, vacuum_isp=343.0)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=4.5, drag_coefficient=0.35),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Case:
    """A vehicle to an ellipse; latitude and angles in deg, apsides in km."""

    vehicle: ao.Vehicle
    latitude: float
    inclination: float
    argument: float
    apsides: tuple[float, float]
    body: ao.Body = ao.earth()

    def mission(self) -> ao.Mission:
        low, high = self.apsides
        orbit = ao.EllipticalOrbit(
            periapsis_altitude=low * km,
            apoapsis_altitude=high * km,
            inclination=self.inclination * deg,
            argument_of_periapsis=self.argument * deg,
        )
        site = ao.LaunchSite(latitude=self.latitude * deg)
        return ao.Mission(body=self.body, site=site, orbit=orbit)

    def mirrored(self) -> Case:
        """Seen in the equator: what was the ascending node is the descending one.

        A part in 1e10 more payload, which decides nothing.
        """
        heavier = replace(self.vehicle, payload_mass=self.vehicle.payload_mass * (1.0 + 1e-10))
        other = (self.argument + 180.0) % 360.0
        return replace(self, vehicle=heavier, latitude=-self.latitude, argument=other)


SHORT_WAY = Case(
    vehicle=two_stages(restarts=0), latitude=15, inclination=42, argument=30, apsides=(250, 1200)
)
"""One burn of the last stage: heading north, and not heading south, it ends near the periapsis."""

THREE_BURNS = Case(
    vehicle=two_stages(restarts=2), latitude=35, inclination=60, argument=250, apsides=(250, 4000)
)

PAIRS = {
    "three burns": THREE_BURNS,
    "one burn": SHORT_WAY,
    "far from the pad": Case(
        vehicle=two_stages(), latitude=20, inclination=40, argument=180, apsides=(300, 3000)
    ),
    "a steep plane": Case(
        vehicle=two_stages(), latitude=12, inclination=55, argument=33, apsides=(400, 1500)
    ),
    "low and nearly round": Case(
        vehicle=two_stages(), latitude=45, inclination=80, argument=120, apsides=(300, 900)
    ),
    "backwards": Case(
        vehicle=two_stages(propellant=9.0, thrust=60.0), latitude=50, inclination=98, argument=75,
        apsides=(350, 700),
    ),
    "half a day": Case(
        vehicle=spoonbill(), latitude=25, inclination=63.4, argument=270, apsides=(500, 39000)
    ),
    "without air": Case(
        vehicle=lander(), latitude=30, inclination=75, argument=300, apsides=(50, 600),
        body=ao.moon(),
    ),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", PAIRS)
def test_the_mirrored_pad_uses_the_same_propellant(name: str) -> None:
    """It was 2e-4 of it more or less: for the other heading the same one was flown again."""
    cases = PAIRS[name], PAIRS[name].mirrored()
    one, other = (ao.optimize(case.vehicle, case.mission()) for case in cases)
    assert one.certificate.verdict is other.certificate.verdict is Verdict.CERTIFIED
    assert one.propellant_used == pytest.approx(other.propellant_used, rel=1e-6)


@pytest.mark.parametrize("case", [SHORT_WAY, SHORT_WAY.mirrored()], ids=["north", "south"])
def test_what_flies_by_one_heading_only_is_found_by_the_first_guess_of_it(case: Case) -> None:
    """By the other it falls 570 m/s short, with the payload of a lighter vehicle or none."""
    south = case.latitude < 0.0
    solver = task_of(case.vehicle, case.mission())
    plan = replace(direct(case.vehicle), southward=south)
    assert attempt_from_first_guess(solver, plan).reached
    turned = attempt_from_first_guess(solver, replace(plan, southward=not south))
    assert (turned.shortfall or 0.0) > 100.0


@pytest.mark.parametrize("southward", [False, True])
def test_a_guess_heads_where_it_is_told(*, southward: bool) -> None:
    case = PAIRS["a steep plane"]
    plan = replace(direct(case.vehicle), southward=southward)
    sequence = sequence_of(case.vehicle, case.mission(), plan)
    end = fly_guess(sequence, case.mission())[1].states[-1]
    assert bool(end[5] < 0.0) is southward
    across = np.cross(end[:3], end[3:6])
    plane = launch_plane(sequence, case.mission())
    assert plane[2] == pytest.approx(np.cos(55 * deg), abs=1e-9)
    # The thrust is in the plane, and so is the flight, but for the speed of the turning ground.
    assert across @ plane > 0.98 * np.linalg.norm(across)


@pytest.mark.slow
@pytest.mark.parametrize("case", [THREE_BURNS, THREE_BURNS.mirrored()], ids=["north", "south"])
def test_with_a_burn_to_spare_the_flight_ends_where_the_bulge_costs_least(case: Case) -> None:
    """Some start ends beside the periapsis, 5.5 kg worse, another a quarter round, 0.6 kg worse.

    What is found is no worse than any place of a ring of others, so it is the same for both.
    """
    solver = task_of(case.vehicle, case.mission())
    south = case.latitude > 0.0
    plan = replace(direct(case.vehicle), restarts=2, southward=south)
    parked = through_the_circle(solver, plan)
    assert parked is not None
    parked = impose_limits(solver, parked)
    moved = ended_where_best(solver, parked)
    assert moved.reached
    assert moved.history[-1].startswith("ended elsewhere")
    assert moved.final_mass > parked.final_mass + 0.3
    assert ended_where_best(solver, moved).final_mass == pytest.approx(moved.final_mass, rel=1e-6)


@pytest.mark.parametrize(
    "case",
    [
        SHORT_WAY,
        replace(PAIRS["without air"], vehicle=lander(), body=replace(ao.moon(), j2=0.0)),
    ],
    ids=["no burn to spare", "no bulge"],
)
def test_elsewhere_a_flight_stands_where_it_ends(case: Case) -> None:
    solver = task_of(case.vehicle, case.mission())
    restarts = case.vehicle.stages[-1].restarts
    found = attempt_from_first_guess(solver, replace(direct(case.vehicle), restarts=restarts))
    assert ended_where_best(solver, found) is found


def argument_of(attempt: Attempt, mission: ao.Mission) -> float:
    final = attempt.found.arcs[-1].states[-1]
    mu = mission.body.gravitational_parameter
    return elements(mu, final[:3], final[3:6]).argument_of_periapsis


STEP = 12 * deg
"""Of the argument, from one optimum to the next."""


def led_to(launch_mission: ao.Mission, vehicle: ao.Vehicle, way: int) -> float:
    """Final mass in kg where the optimum with the periapsis free is led to, argument by argument.

    ``way`` is 1 or -1: up or down.
    """
    orbit = launch_mission.orbit
    assert isinstance(orbit, ao.EllipticalOrbit)
    assert orbit.argument_of_periapsis is not None
    free = replace(launch_mission, orbit=replace(orbit, argument_of_periapsis=None))
    plan = replace(direct(vehicle), restarts=1)
    attempt = attempt_at(task_of(vehicle, free), plan)
    begin = argument_of(attempt, free)
    whole = ((orbit.argument_of_periapsis - begin) * way) % (2.0 * pi)
    count = ceil(whole / STEP)
    for k in range(1, count + 1):
        there = (begin + way * whole * k / count) % (2.0 * pi)
        placed = replace(launch_mission, orbit=replace(orbit, argument_of_periapsis=there))
        solver = task_of(vehicle, placed)
        attempt = (
            solve_from_neighbour(solver, attempt)
            if k > 1  # of the free periapsis there are no multipliers for its place
            else begun_anew(solver, attempt)
        )
        assert attempt.reached
    return attempt.final_mass


def begun_anew(task: Task, attempt: Attempt) -> Attempt:
    """From the trajectory alone."""
    solver = StructureSolver.resumed(task, replace(attempt, history=()))
    limits = limits_if_imposed(attempt.limited_arcs, task.mission.limits)
    return solver.solve_from_guess(limits, attempt.limited_arcs, attempt.found.as_guess())


@pytest.mark.slow
def test_an_answer_is_no_worse_than_what_the_free_periapsis_is_led_to() -> None:
    """A way of its own to the flight: from the cheapest argument to the one that is asked for."""
    launch = a_placed_ellipse_of_the_moon()
    solver = task_of(launch.vehicle, launch.mission)
    found = attempt_at(solver, replace(direct(launch.vehicle), restarts=1))
    led = led_to(launch.mission, launch.vehicle, 1)
    assert found.final_mass > (1.0 - 1e-6) * led
    assert found.final_mass == pytest.approx(led, rel=1e-4)


@pytest.mark.slow
def test_a_throttled_stage_is_tried_by_both_headings() -> None:
    """The way by a circle, flown without throttle below it, goes on throttled."""
    ascent = a_throttled_stage_to_a_placed_periapsis().optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.plan.throttling == (1,)
    solved = {one.plan.southward for one in ascent.candidates if one.plan.throttling == (1,)}
    assert solved == {False, True}
    assert all(one.propellant_used is not None for one in ascent.candidates)


@pytest.mark.slow
def test_a_ten_billionth_of_the_payload_decides_no_structure() -> None:
    """A burn put into half a revolution began a hundred kilometres too low, and led anywhere."""
    launch = an_ellipse_far_round_from_the_pad()
    used = []
    for share in (1.0, 1.0 + 1e-10, 1.0 - 1e-10):
        vehicle = replace(launch.vehicle, payload_mass=share * launch.vehicle.payload_mass)
        ascent = ao.optimize(vehicle, launch.mission)
        assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
        used.append(ascent.propellant_used)
    assert max(used) - min(used) < 1e-6 * min(used)

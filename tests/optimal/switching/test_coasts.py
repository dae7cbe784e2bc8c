"""Coasts between lower stages: put in where the costates say that they pay."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import sinh

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.path_limits import NEAR_GROUND, Clearance
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.optimal.structure.search_by_moves import possible_moves, solve_move
from ascentopt.optimal.switching.coasting import cost_of_coasting
from ascentopt.optimal.task import Task
from ascentopt.units import STANDARD_GRAVITY, km, tonne
from tests.optimal.launchers import earth_mission, lander, moon_mission


def _stage(name: str, propellant: float, burn_time: float, isp: float) -> ao.Stage:
    thrust = propellant * isp * STANDARD_GRAVITY / burn_time
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=isp)
    return ao.Stage(name=name, propellant_mass=propellant, dry_mass=0.1 * propellant, engine=engine)


def in_a_hurry() -> ao.Vehicle:
    """Two stages that burn out low and fast, under one that takes its time."""
    stages = (
        _stage("one", 30 * tonne, 45.0, 290.0),
        _stage("two", 9 * tonne, 30.0, 300.0),
        _stage("three", 3.2 * tonne, 700.0, 310.0),
    )
    air = ao.Aerodynamics(reference_area=1.8, drag_coefficient=0.4)
    return ao.Vehicle(name="Swift", payload_mass=300.0, stages=stages, aerodynamics=air)


def mission(altitude: float) -> ao.Mission:
    return replace(
        earth_mission(),
        orbit=ao.CircularOrbit(altitude=altitude),
        limits=ao.FlightLimits.none(),
    )


def solver(altitude: float) -> Task:
    return task_of(in_a_hurry(), mission(altitude))


@cache
def straight() -> Attempt:
    """Direct insertion, low, where no limit on loads is to be kept."""
    task = solver(200 * km)
    return impose_limits(task, attempt_at(task, FlightPlan(inserting_stage=2)))


@cache
def coasting_before(stage: int) -> Attempt:
    """The same flight with a coast put in."""
    task, told = solver(200 * km), f"coast before stage {stage + 1}"
    moves = possible_moves(Case(task.vehicle, task.mission), straight())
    found = [
        solve_move(task, straight(), move, arcs) for move, arcs in moves if move.description == told
    ]
    assert found[0] is not None
    return found[0]


@pytest.fixture(scope="module")
def twice() -> ao.Ascent:
    return ao.optimize(in_a_hurry(), mission(300 * km))


def test_a_coast_between_lower_stages_pays_and_one_before_the_last_does_not() -> None:
    assert coasting_before(1).unspent > straight().unspent + 10.0
    assert coasting_before(1).unspent > coasting_before(2).unspent + 10.0


def test_the_first_second_of_a_coast_costs_what_the_costates_say() -> None:
    """Solved with a coast before the last stage, which does not pay there, at its shortest."""
    other = coasting_before(2)
    assert other.reached
    lasts = other.found.arcs[other.sequence.names.index("coast to three")].duration
    assert lasts < 0.01
    cost = cost_of_coasting(straight().found, straight().sequence, 2)
    assert straight().unspent - other.unspent == pytest.approx(cost * lasts, rel=0.01)


def test_a_coast_of_free_length_ends_when_more_of_it_costs_nothing() -> None:
    """To the error of the mesh: along the coast the Hamiltonian wavers by 0.006 kg/s about zero."""
    between = coasting_before(1)
    before = cost_of_coasting(straight().found, straight().sequence, 1)
    after = cost_of_coasting(between.found, between.sequence, 1)
    assert before < -1.0
    assert abs(after) < 0.006


def test_two_coasts_are_flown_as_planned(twice: ao.Ascent) -> None:
    assert str(twice.plan) == "direct insertion, coast before stages 2 and 3"
    assert twice.certificate.verdict is Verdict.CERTIFIED
    guessed = list(plans(in_a_hurry(), mission(300 * km)))
    assert all(1 not in plan.coast_before for plan in guessed)  # the costates asked for it
    for before, after in (("one separation", "two ignition"), ("two separation", "three ignition")):
        assert twice.events[after].time - twice.events[before].time > 5.0
    flight = ao.fly(in_a_hurry(), mission(300 * km), twice.steering)
    assert flight.final_state[6] == pytest.approx(twice.final_mass, abs=0.1)
    assert abs(twice.budget.closing_error) < 1e-3


def test_other_structures_are_beaten_by_both_coasts(twice: ao.Ascent) -> None:
    _, one, none = sorted(twice.candidates, key=lambda c: -len(c.plan.coast_before))
    assert one.propellant_used is not None
    assert none.propellant_used is not None
    assert twice.propellant_used < one.propellant_used < none.propellant_used


@pytest.mark.slow
def test_a_coast_keeps_off_the_ground_by_more_than_a_mesh_leaves_between_its_nodes() -> None:
    """Around its lowest point one kept to it at the nodes, sank 5 m between two, and crashed."""
    plan = FlightPlan(inserting_stage=0, restarts=1)
    attempt = attempt_at(task_of(lander(), moon_mission()), plan)
    kept: dict[bool, list[float]] = {True: [], False: []}
    clearance = Clearance(0.0).quantity
    for arc, solved in zip(attempt.sequence.arcs, attempt.found.arcs, strict=True):
        if arc.rise is None:
            above = NEAR_GROUND * sinh(solved.path[-1, solved.arc.model.path.index(clearance)])
            height = np.linalg.norm(solved.states[-1, :3]) - ao.moon().radius
            kept[arc.burning].append(float(height - above))
    left = Effort().refinement.path_tolerance * NEAR_GROUND
    assert len(kept[True]) == 2
    assert len(kept[False]) == 1
    assert min(kept[False]) > max(kept[True]) + left

"""A tank that may be overdrawn: the double of a vehicle, and what it says to a refusal."""

from __future__ import annotations

from dataclasses import replace
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.solve.attempt_at import attempt_at, attempt_from_first_guess
from ascentopt.optimal.solve.from_neighbour import solve_from_neighbour
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.relaxed_tank import (
    RELAXED_TANK,
    by_own_tank,
    measured_by_own_tank,
    remaining_delta_v,
    solve_with_relaxed_tank,
    with_relaxed_tank,
)
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.task import Task
from ascentopt.rocket import Engine
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.solve.launches import (
    a_strong_solid_with_much_left,
    an_ellipse_of_a_heavy_planet,
)

HEAVY = replace(TURNSTONE, payload_mass=2800.0)
"""Some 60 kg more than it can carry."""


@given(payload=st.just(0.0) | st.floats(10.0, 5e3))
def test_the_double_weighs_as_much_everywhere_and_holds_more(payload: float) -> None:
    vehicle = replace(TURNSTONE, payload_mass=payload)
    double = with_relaxed_tank(task_of(vehicle, PELICAN_POINT)).vehicle
    assert double.lift_off_mass == pytest.approx(vehicle.lift_off_mass, rel=1e-12)
    assert double.mass_above(0) == pytest.approx(vehicle.mass_above(0), rel=1e-12)
    gained = double.ideal_delta_v - vehicle.ideal_delta_v
    assert gained > 0.5 * vehicle.stages[-1].engine.exhaust_speed


def test_an_empty_tank_has_nothing_to_spare() -> None:
    sequence = sequence_of(TURNSTONE, PELICAN_POINT, direct(TURNSTONE))
    empty = sequence.arcs[-1].least_mass
    assert remaining_delta_v(TURNSTONE, sequence, empty) == 0.0
    assert (
        remaining_delta_v(TURNSTONE, sequence, 0.9 * empty)
        < 0.0
        < remaining_delta_v(TURNSTONE, sequence, 1.1 * empty)
    )


def test_a_tank_with_plenty_left_is_not_overdrawn_for_the_limits() -> None:
    """The limits cost little of what is left: no step towards them dies of the propellant's end."""
    launch = a_strong_solid_with_much_left()
    solver = task_of(launch.vehicle, launch.mission)
    free = attempt_at(solver, direct(launch.vehicle))
    assert remaining_delta_v(launch.vehicle, free.sequence, free.final_mass) > 1000.0
    assert LimitedSolver.resumed(solver, free).impose_limits_directly(free) is None
    found = impose_limits(solver, free)
    assert found.reached
    assert found.keeps_limits
    assert RELAXED_TANK not in found.history


def test_limits_are_met_on_credit_and_what_is_missing_is_known() -> None:
    """Without the bound on propellant the limits are a single step, however short the flight."""
    solver = task_of(HEAVY, PELICAN_POINT)
    plan = direct(HEAVY)
    short = attempt_at(solver, plan)
    deep = attempt_at(with_relaxed_tank(solver), plan)
    settled = solve_with_relaxed_tank(solver, short, deep)
    assert deep.reached
    assert short.shortfall is not None
    assert settled.shortfall is not None
    assert settled.shortfall >= short.shortfall  # limits cost speed
    sequence = sequence_of(HEAVY, PELICAN_POINT, deep.plan)
    debt = -remaining_delta_v(HEAVY, sequence, deep.final_mass)
    # An impulse at the insertion comes when all is light: the propellant to fly it costs more.
    assert short.shortfall < debt < 1.5 * short.shortfall


@pytest.mark.slow
def test_a_refusal_that_was_wrong_is_found_out() -> None:
    """A coast of half a revolution: once refused, short by 75 m/s."""
    assert an_ellipse_of_a_heavy_planet().optimum().propellant_margin > 100.0


@pytest.mark.slow
def test_a_much_heavier_neighbour_is_reached_or_lacks_what_the_rocket_equation_says() -> None:
    """Two and a half times the payload, and 38 kg more than can be carried."""
    base = optimum(TURNSTONE, PELICAN_POINT, Effort()).attempt
    most = replace(TURNSTONE, payload_mass=2726.3)  # by `max_payload`
    heavy = solve_from_neighbour(task_of(replace(most, payload_mass=2725.0), PELICAN_POINT), base)
    assert heavy.reached
    too_heavy = replace(most, payload_mass=2764.0)
    heavier = solve_from_neighbour(task_of(too_heavy, PELICAN_POINT), base)
    lacks = most.ideal_delta_v - too_heavy.ideal_delta_v
    assert heavier.shortfall == pytest.approx(lacks, rel=0.1)


def test_what_a_flight_within_limits_lacks_is_not_forgotten_for_what_a_worse_one_lacks() -> None:
    """The double's own guess ends without a coast, in 146 m/s within the limits."""
    solver = task_of(replace(TURNSTONE, payload_mass=2742.6), PELICAN_POINT)
    short = attempt_at(solver, direct(solver.vehicle))
    worse = attempt_at(with_relaxed_tank(solver), short.plan)
    assert short.nearest_flight is not None
    near = replace(short, shortfall=1.0, limited_arcs=frozenset({"first"}))
    assert solve_with_relaxed_tank(solver, near, worse).shortfall == 1.0
    free = replace(near, limited_arcs=frozenset())  # without limits: no match for what keeps them
    assert (solve_with_relaxed_tank(solver, free, worse).shortfall or 0.0) > 100.0


@pytest.mark.slow
def test_a_tank_that_a_finer_mesh_finds_empty_is_a_refusal() -> None:
    """2726.3 kg fly, by `max_payload`: the last mesh owes what the first one promises."""
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(replace(TURNSTONE, payload_mass=2728.0), PELICAN_POINT)
    assert 0.0 < (caught.value.shortfall or 0.0) < 3.0


def direct_attempt(payload: float, *, overdrawn: bool) -> tuple[Task, Attempt]:
    """The task of a vehicle with a payload, and its direct insertion, perhaps overdrawn."""
    task = task_of(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)
    solved = with_relaxed_tank(task) if overdrawn else task
    return task, attempt_from_first_guess(solved, direct(TURNSTONE))


def test_what_an_overdrawn_tank_has_left_is_what_the_own_one_leaves() -> None:
    task, relaxed = direct_attempt(1000.0, overdrawn=True)
    _, own = direct_attempt(1000.0, overdrawn=False)
    told = measured_by_own_tank(task, relaxed)
    assert told.reached
    assert told.unspent == pytest.approx(own.unspent, rel=1e-6)


def test_what_a_tank_is_overdrawn_by_is_missing_and_the_flight_is_kept() -> None:
    task, relaxed = direct_attempt(3500.0, overdrawn=True)
    told = measured_by_own_tank(task, relaxed)
    empty = told.sequence.arcs[-1].least_mass
    lacks = task.vehicle.stages[-1].engine.exhaust_speed * log(empty / relaxed.final_mass)
    assert not told.reached
    assert told.shortfall == pytest.approx(lacks, rel=1e-12)
    assert told.overdrawn_flight is relaxed.solution


def test_a_search_that_is_stopped_offers_no_flight_that_overdraws_the_tank() -> None:
    """What was begun with a tank that may be overdrawn is told by the tank as it is."""
    (heavy, overdrawn), (light, spare) = (
        direct_attempt(payload, overdrawn=True) for payload in (3500.0, 1000.0)
    )
    assert overdrawn.reached
    assert spare.reached
    assert not by_own_tank(heavy, overdrawn).reached
    told = by_own_tank(light, spare)
    assert told.reached
    assert told.solution is spare.solution
    assert told.sequence == light.arcs_of(spare.plan)


def test_a_tank_is_overdrawn_no_further_than_a_limit_on_acceleration_lets_it_burn() -> None:
    engine = TURNSTONE.stages[-1].engine
    assert isinstance(engine, Engine)
    held = 0.75 * (TURNSTONE.stages[-1].dry_mass + TURNSTONE.payload_mass)
    limit = engine.min_throttle * engine.vacuum_thrust / held
    mission = replace(PELICAN_POINT, limits=FlightLimits(axial_acceleration=limit))
    relaxed = with_relaxed_tank(task_of(TURNSTONE, mission)).vehicle
    assert relaxed.stages[-1].dry_mass + relaxed.payload_mass == pytest.approx(held, rel=1e-12)

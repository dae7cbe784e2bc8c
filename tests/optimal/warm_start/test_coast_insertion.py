"""A flight that falls short is where a structure with a coast begins, unless it must not rest."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.flown_start import starts
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.switching.coasting import share_lost_by_coasting
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.coast_insertion import EDGE, with_coast_inserted
from ascentopt.units import km, kN, tonne
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.solve.counted import CountedSolves

BREAK = FlightPlan(inserting_stage=0, restarts=1)


def solver(vehicle: ao.Vehicle, altitude: float) -> Task:
    mission = replace(moon_mission(), orbit=ao.CircularOrbit(altitude=altitude))
    return task_of(vehicle, mission)


def heavy() -> Task:
    return solver(replace(lander(), payload_mass=4.5 * tonne), 300 * km)


def two_stages() -> Task:
    """A strong stage, a weak one without restart, and an orbit too high for them."""
    engines = [ao.Engine(vacuum_thrust=t, vacuum_isp=320.0) for t in (25 * kN, 4.5 * kN)]
    first = ao.Stage(name="first", propellant_mass=2.0 * tonne, dry_mass=300.0, engine=engines[0])
    second = ao.Stage(name="second", propellant_mass=900.0, dry_mass=250.0, engine=engines[1])
    vehicle = ao.Vehicle(name="Whimbrel", payload_mass=1.4 * tonne, stages=(first, second))
    return solver(vehicle, 600 * km)


def weaklings() -> ao.Vehicle:
    """Three stages, the upper two too weak to hold themselves up before they are in orbit."""
    stages = (
        _stage("first", (5.3, 0.63), 66.0 * kN, 348.0),
        _stage("second", (4.0, 0.47), 23.9 * kN, 323.0),
        _stage("third", (3.4, 0.39), 18.8 * kN, 465.0, restarts=1),
    )
    return ao.Vehicle(name="Dunlin", payload_mass=14.7 * tonne, stages=stages)


def _stage(
    name: str, tonnes: tuple[float, float], thrust: float, isp: float, restarts: int = 0
) -> ao.Stage:
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=isp)
    full, dry = tonnes[0] * tonne, tonnes[1] * tonne
    return ao.Stage(name=name, propellant_mass=full, dry_mass=dry, engine=engine, restarts=restarts)


@cache
def short() -> Attempt:
    task = heavy()
    return attempt_at(task, direct(task.vehicle))


def test_a_coast_put_into_a_flight_joins_on_either_side() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    planned = sequence_of(heavy().vehicle, heavy().mission, BREAK)
    found = with_coast_inserted(nearest, short().sequence, planned)
    assert found is not None
    before, coast, after = found.guess.arcs[-3:]
    np.testing.assert_allclose(coast.states[0], before.states[-1], rtol=1e-12)
    np.testing.assert_allclose(after.states[-1], nearest.arcs[-1].states[-1], rtol=1e-12)
    burns = np.diff(found.guess.instants)[[-3, -1]]
    assert burns.sum() == pytest.approx(nearest.arcs[-1].duration, abs=1e-9)
    assert EDGE - 1e-9 <= burns[0] / burns.sum() <= 1.0 - EDGE + 1e-9
    energies = [_energy(state) for state in coast.states]  # a coast keeps it
    assert energies[-1] == pytest.approx(energies[0], rel=1e-5)


def _energy(state: np.ndarray) -> float:
    mu = ao.moon().gravitational_parameter
    return float(0.5 * state[3:6] @ state[3:6] - mu / np.linalg.norm(state[:3]))


def test_no_other_difference_is_taken_for_a_coast() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    assert with_coast_inserted(nearest, short().sequence, short().sequence) is None


def test_a_coast_brings_a_short_flight_nearer() -> None:
    """A strong stage lofts the weak one; solved in one go from the flight without the coast."""
    task = two_stages()
    burned = attempt_at(task, direct(task.vehicle))
    assert burned.nearest_flight is not None
    plan = FlightPlan(inserting_stage=1, coast_before=(1,))
    planned = sequence_of(task.vehicle, task.mission, plan)
    start = with_coast_inserted(burned.nearest_flight, burned.sequence, planned)
    assert start is not None
    solver = StructureSolver.begun_from(burned, task, plan, start.meshes, ())
    rested = solver.solve_without_load_limits(start.guess)
    assert rested.shortfall is not None
    assert burned.shortfall is not None
    assert rested.shortfall < burned.shortfall - 10.0


def test_guesses_stop_when_two_agree() -> None:
    """Each is solved for its least missing speed; there are more guesses than two."""
    task, solves = heavy(), CountedSolves()
    plan = direct(task.vehicle)
    assert len(starts(plan)) > 2
    assert not attempt_at(replace(task, remembered=solves), plan).reached
    assert solves.made == 2


@pytest.mark.slow
def test_a_vehicle_that_hangs_on_its_thrust_must_not_rest() -> None:
    weak = solver(weaklings(), 115 * km)
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(weak.vehicle, weak.mission)
    candidates = refusal.value.best
    assert isinstance(candidates, tuple)
    assert [one.standing for one in candidates] == [Standing.SHORT, Standing.SKIPPED]
    assert refusal.value.shortfall is not None
    assert candidates[1].history  # the reason
    burning = attempt_at(weak, direct(weak.vehicle))
    assert burning.nearest_flight is not None
    lost = share_lost_by_coasting(burning.nearest_flight, burning.sequence)
    assert lost == pytest.approx(1.0, abs=1e-3)  # all that thrust gains in that time


def test_a_vehicle_near_its_orbit_may_rest() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    assert share_lost_by_coasting(nearest, short().sequence) is None


def test_instants_out_of_order_by_the_solvers_tolerance_do_no_harm() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    rise, burn = nearest.arcs
    late = replace(rise, times=rise.times + rise.duration + 1e-6)
    planned = sequence_of(heavy().vehicle, heavy().mission, BREAK)
    found = with_coast_inserted(replace(nearest, arcs=(late, burn)), short().sequence, planned)
    assert found is not None
    assert np.all(np.diff(found.guess.instants) >= 0.0)

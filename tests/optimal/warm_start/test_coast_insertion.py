"""A coast put into a flight before a stage is lit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Solution
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.remap import with_coast_before_stage
from ascentopt.units import km, kN, tonne
from tests.optimal.launchers import moon_mission

BREAK = FlightPlan(inserting_stage=1, coast_before=(1,))


def solver(vehicle: ao.Vehicle, altitude: float) -> Task:
    mission = replace(moon_mission(), orbit=ao.CircularOrbit(altitude=altitude))
    return task_of(vehicle, mission)


def two_stages() -> Task:
    """A strong stage, a weak one without restart, and an orbit too high for them."""
    engines = [ao.Engine(vacuum_thrust=t, vacuum_isp=320.0) for t in (25 * kN, 4.5 * kN)]
    first = ao.Stage(name="first", propellant_mass=2.0 * tonne, dry_mass=300.0, engine=engines[0])
    second = ao.Stage(name="second", propellant_mass=900.0, dry_mass=250.0, engine=engines[1])
    vehicle = ao.Vehicle(name="Whimbrel", payload_mass=1.4 * tonne, stages=(first, second))
    return solver(vehicle, 600 * km)


@cache
def short() -> Attempt:
    task = two_stages()
    return attempt_at(task, direct(task.vehicle))


def rested(nearest: Solution) -> MeshedGuess | None:
    """The flight with a coast before its last stage."""
    planned = sequence_of(two_stages().vehicle, two_stages().mission, BREAK)
    return with_coast_before_stage(nearest, short().sequence, planned, 1)


def test_a_coast_put_into_a_flight_joins_on_either_side() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    found = rested(nearest)
    assert found is not None
    coast, burn = found.guess.arcs[-2:]
    np.testing.assert_allclose(coast.states[0], nearest.arcs[-1].states[0], rtol=1e-12)
    np.testing.assert_allclose(burn.states, nearest.as_guess().arcs[-1].states, rtol=1e-12)
    lasts = np.diff(found.guess.instants)[-1]
    assert lasts == pytest.approx(nearest.arcs[-1].duration, abs=1e-9)
    energies = [_energy(state) for state in coast.states]  # a coast keeps it
    assert energies[-1] == pytest.approx(energies[0], rel=1e-5)


def _energy(state: np.ndarray) -> float:
    mu = ao.moon().gravitational_parameter
    return float(0.5 * state[3:6] @ state[3:6] - mu / np.linalg.norm(state[:3]))


def test_no_other_difference_is_taken_for_a_coast() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    assert with_coast_before_stage(nearest, short().sequence, short().sequence, 1) is None


def test_a_coast_brings_a_short_flight_nearer() -> None:
    """A strong stage lofts the weak one; solved in one go from the flight without the coast."""
    burned = short()
    assert burned.nearest_flight is not None
    start = rested(burned.nearest_flight)
    assert start is not None
    solver = StructureSolver.begun_from(burned, two_stages(), BREAK, start.meshes, ())
    found = solver.solve_without_load_limits(start.guess)
    assert found.shortfall is not None
    assert burned.shortfall is not None
    assert found.shortfall < burned.shortfall - 10.0


def test_instants_out_of_order_by_the_solvers_tolerance_do_no_harm() -> None:
    nearest = short().nearest_flight
    assert nearest is not None
    *before, last = nearest.arcs
    late = replace(before[-1], times=before[-1].times + 1e-6)
    found = rested(replace(nearest, arcs=(*before[:-1], late, last)))
    assert found is not None
    assert np.all(np.diff(found.guess.instants) >= 0.0)

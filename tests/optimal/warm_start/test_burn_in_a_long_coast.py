"""A burn put into a coast of hours: its start lies on the orbit, and so does what is solved."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Solution
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import limits, parameter_vector, start_vector
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.mode_insertions import InsertArc
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.phase_model import arcs_in_elements
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.structure.search_by_moves import possible_moves, solve_move
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.remap import on_sequence
from ascentopt.units import km
from tests.optimal.launchers import lander, moon_mission


@cache
def task() -> Task:
    """A lander that can be lit twice more, to a circle at twelve radii of the Moon."""
    (stage,) = lander().stages
    vehicle = replace(lander(), stages=(replace(stage, restarts=2),))
    mission = replace(moon_mission(), orbit=ao.CircularOrbit(altitude=20000 * km))
    return task_of(vehicle, mission)


@cache
def half_a_revolution() -> Attempt:
    found = attempt_at(task(), FlightPlan(inserting_stage=0, restarts=1))
    assert found.reached
    return replace(found, keeps_limits=True)


@cache
def burn_in_the_coast() -> tuple[InsertArc, Sequence]:
    moves = possible_moves(Case(task().vehicle, task().mission), half_a_revolution())
    return next(
        (move, sequence)
        for move, sequence in moves
        if isinstance(move, InsertArc) and "burn put into" in move.description
    )


def long_coasts(flight: Solution) -> list[int]:
    return [k for k, own in enumerate(flight.arcs) if own.duration > 1e4]


def test_a_burn_is_put_into_a_coast_of_hours_without_leaving_its_orbit() -> None:
    """Chords of twelfths of the coast led from its periapsis through the Moon."""
    flight, (move, sequence) = half_a_revolution(), burn_in_the_coast()
    assert len(long_coasts(flight.found)) == 1
    told = move.start(flight, sequence)
    assert told is not None
    start = on_sequence(sequence, told)
    begun = StructureSolver.begun_from(flight, task(), move.plan, start.meshes, ())
    problem = begun.written_near(start.guess).flight.greatest_mass_problem()
    program = build(problem.structure())
    bounds, x = limits(problem, program.layout), start_vector(problem, program.layout, start.guess)
    rows = np.array(program.values(x, parameter_vector(problem))[1], dtype=float).ravel()
    missed = np.maximum(bounds.lbg - rows, rows - bounds.ubg).max()
    assert missed < 0.5  # scaled, in an interval: what its coarse mesh left between nodes is 0.1


def test_a_move_is_solved_in_elements_of_the_orbit_as_guesses_are() -> None:
    flight, (move, sequence) = half_a_revolution(), burn_in_the_coast()
    assert arcs_in_elements(flight.found)
    found = solve_move(task(), flight, move, sequence)
    assert found is not None
    assert found.reached
    assert not found.stopped_short
    assert set(long_coasts(found.found)) <= set(arcs_in_elements(found.found))
    assert found.unspent == pytest.approx(flight.unspent, abs=1.0)

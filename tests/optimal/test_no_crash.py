"""A solve that fails on the way ends in an answer that says so, never in an exception."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Accuracy, NotConverged, Refinement, refine
from ascentopt.flight.guidance.ending import AfterDuration, AfterDurationOrEmpty
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.flight.results.failure import OutOfPropellant
from ascentopt.flight.simulation.simulate import unfinished_flight
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.in_turn import AttemptsInTurn, result_of
from ascentopt.optimal.optimize import _solve_structures, task_of
from ascentopt.optimal.optimum import Optimum
from ascentopt.optimal.result.assembly import ComparedStructures, ascent_of
from ascentopt.optimal.result.certificate import CONTINUOUS_ERROR, Verdict
from ascentopt.optimal.result.closed_loop import close_loop
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.stoppable_search import StoppableSearch
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.optimal.task import Task
from ascentopt.units import kPa
from tests.flight.rockets import Leaning, mission, plain
from tests.optimal.launchers import lander, moon_mission
from tests.studies.wren import MISSION, VEHICLE


def _answer(*restarts: int) -> ao.Ascent:
    """Of a direct flight and one with a coast, those with so many restarts not to be refined.

    Neither first mesh passes for a certificate.
    """
    effort, (lower, upper) = ao.Effort(), VEHICLE.stages
    assert isinstance(lower.engine, ao.Engine)
    throttling = replace(lower, engine=replace(lower.engine, min_throttle=0.5))
    limits = ao.FlightLimits(dynamic_pressure=35 * kPa, axial_acceleration=25.0)
    vehicle = replace(VEHICLE, stages=(throttling, upper))
    solver = task_of(vehicle, replace(MISSION, limits=limits), effort)
    planned = (direct(VEHICLE), replace(direct(VEHICLE), restarts=1))
    attempts = result_of(
        limits_imposed_in_turn(solver, [attempt_at(solver, plan) for plan in planned])
    )
    attempts = [one if one.keeps_limits else impose_limits(solver, one) for one in attempts]
    meshes = [Accuracy.of(one.found, effort.refinement.briefest) for one in attempts]
    tolerance = effort.refinement.path_tolerance
    assert all(one.error > CONTINUOUS_ERROR or one.excess > tolerance for one in meshes)

    def stubborn(task: Task, one: Attempt) -> Attempt:
        hard = one.plan.restarts in restarts
        return replace(one, refined=False) if hard else refine_mesh(task, one)

    best, others = best_refined(solver, attempts, stubborn)
    return ascent_of(solver, close_loop(solver, best), ComparedStructures(others=tuple(others)))


@pytest.mark.slow
def test_another_candidate_stands_in_for_one_that_cannot_be_refined() -> None:
    """The best of those with fewer burns: the same flight without a brief one, if there is such."""
    ascent = _answer(1)
    first, second, third = ascent.candidates
    assert first.standing is Standing.BEST
    assert (first.plan.restarts, first.plan.coast_before) == (0, (1,))
    assert (second.plan.restarts, second.standing) == (1, Standing.UNCONFIRMED)
    assert (third.plan, third.standing) == (direct(VEHICLE), Standing.BEATEN)
    assert ascent.certificate.verdict is Verdict.CERTIFIED


@pytest.mark.slow
def test_where_none_can_be_refined_the_best_stands_as_far_as_it_goes() -> None:
    first, *others = _answer(0, 1).candidates
    assert (first.plan.restarts, first.standing) == (1, Standing.BEST)
    assert {one.plan.restarts for one in others} == {0}
    assert {one.standing for one in others} == {Standing.UNCONFIRMED}


def test_a_refinement_that_runs_out_of_iterations_keeps_the_last_mesh_solved() -> None:
    effort = ao.Effort()
    solver = task_of(lander(), moon_mission())
    found = attempt_at(solver, direct(lander())).found
    with pytest.raises(NotConverged) as failure:
        refine(found.problem, found, Refinement(), replace(effort.settings, iterations=1))
    assert failure.value.solved is found
    hasty = replace(solver, settings=replace(effort.settings, iterations=1))
    coarse = attempt_at(solver, direct(lander()))
    attempt = refine_mesh(hasty, coarse)
    assert attempt.refined is False
    assert [own.arc.mesh for own in attempt.found.arcs] == [
        own.arc.mesh for own in coarse.found.arcs
    ]


def test_a_throttled_burn_ends_where_its_tank_runs_dry() -> None:
    """A table of the throttle that burns a gram too much is no reason to lose the flight."""
    vehicle, where = plain(), mission()
    sequence = sequence_of(vehicle, where, direct(vehicle))
    core, upper = sequence.arcs[1].name, sequence.arcs[-1].name
    burn = sequence.spans[0].longest

    def flown(ending: AfterDuration | AfterDurationOrEmpty) -> ao.Flight:
        law = Leaning(direct(vehicle), {core: ending, upper: AfterDuration(50.0)})
        return ao.fly(vehicle, where, law)

    with pytest.raises(OutOfPropellant) as failure:
        flown(AfterDuration(burn + 1.0))
    part, flight = (
        unfinished_flight(sequence, failure.value),
        flown(AfterDurationOrEmpty(burn + 1.0)),
    )
    assert flight.ends[1].time == pytest.approx(burn, abs=1e-2)
    assert part.final_time == pytest.approx(burn, abs=1e-2)
    assert np.isnan(part.budget.ideal)
    rise, core_end = flown(AfterDurationOrEmpty(50.0)).ends[:2]
    assert core_end.time - rise.time == pytest.approx(50.0, abs=1e-6)


def _stopped(steps: AttemptsInTurn[Optimum], after: int) -> AttemptsInTurn[Optimum]:
    """A search that the user stops after so many structures."""
    yield from islice(steps, after)
    raise KeyboardInterrupt


@pytest.mark.parametrize(("at", "flies"), [(0, False), (1, True)])
def test_an_interrupt_carries_the_best_flight_so_far(at: int, *, flies: bool) -> None:
    solver = task_of(lander(), moon_mission())
    search = StoppableSearch(solver, _stopped(_solve_structures(solver), at))
    with pytest.raises(ao.Interrupted, match="interrupted after") as stop:  # noqa: SIM117
        with solver.watch.carrying("flight to the orbit", search.so_far):
            search.result()
    told = stop.value
    if not flies:
        assert told.best is None
        assert "no flight to the orbit is finished" in str(told)
        return
    assert isinstance(told.best, ao.Ascent)
    (only,) = told.best.candidates
    assert only.standing is Standing.UNFINISHED
    assert only.result.startswith("at least")

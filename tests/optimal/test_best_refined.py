"""Which flight is taken to be the best, once meshes are refined."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.task import Task
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.told import told

CASE = Case(lander(), moon_mission())
TASK = task_of(CASE.vehicle, CASE.mission)


def with_left(attempt: Attempt, kilograms: float) -> Attempt:
    """A flight that reaches the orbit with so much propellant left."""
    mass = attempt.sequence.arcs[-1].least_mass + kilograms
    solution = replace(attempt.found, objective=mass)
    return replace(attempt, solution=solution, shortfall=0.0, keeps_limits=True)


ONCE = told(
    CASE, FlightPlan(inserting_stage=0), (15.0, 400.0), [(7500.0, 7300.0), (7300.0, 3000.0)]
)
TWICE = told(
    CASE,
    FlightPlan(inserting_stage=0, restarts=1),
    (15.0, 350.0, 2000.0, 40.0),
    [(7500.0, 7300.0), (7300.0, 3500.0), (3500.0, 3500.0), (3500.0, 3000.0)],
)


@pytest.mark.parametrize(
    ("fine", "restarts", "count"),
    [(99.8, 1, 1), (98.7, 1, 1), (98.0, 0, 2)],
    ids=["still better", "worse by less than matters", "worse"],
)
def test_a_first_mesh_that_promised_too_much_beats_no_other_flight(
    fine: float, restarts: int, count: int
) -> None:
    """The other has 99 kg on either mesh; a ten-thousandth of the propellant is half a kilogram."""
    refined: list[Attempt] = []

    def finish(task: Task, attempt: Attempt) -> Attempt:
        refined.append(attempt)
        found = with_left(attempt, fine) if attempt.plan.restarts else attempt
        return replace(found, refined=True)

    attempts = [with_left(TWICE, 100.0), with_left(ONCE, 99.0)]
    best, others = best_refined(TASK, attempts, finish)
    assert best.plan.restarts == restarts
    assert len(refined) == count
    assert best.unspent == pytest.approx(fine if restarts else 99.0)
    assert [one.plan.restarts for one in others] == [1 - restarts]

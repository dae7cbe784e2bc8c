"""What is far out of reach is seen in few iterations, and says what it said with more patience."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.explain.diagnosis import Diagnosis
from ascentopt.optimal.explain.out_of_reach import seen_in_haste
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.task import Task
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.solve.counted import CountedSolves

FAR = (3500.0, 4500.0)
"""kg, of 2726 that fly: with less ideal delta-v than nearly every flight to the orbit takes."""


@cache
def counted(payload: float) -> tuple[ao.InfeasibleAscent, CountedSolves]:
    """The refusal, and what it cost."""
    solves = CountedSolves()
    with pytest.raises(ao.InfeasibleAscent) as caught:
        seen_in_haste(replace(solver(payload), remembered=solves))
    return caught.value, solves


def named(payload: float) -> float:
    """kg of payload that the refusal says to fly."""
    diagnosis = counted(payload)[0].diagnosis
    assert isinstance(diagnosis, Diagnosis)
    assert diagnosis.payload is not None
    return diagnosis.payload


def solver(payload: float) -> Task:
    return task_of(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)


@pytest.mark.parametrize("payload", FAR)
def test_a_payload_far_out_of_reach_is_refused_in_few_iterations(payload: float) -> None:
    """A dozen solves of a good start, and as many that lead nowhere as there are structures."""
    _, solves = counted(payload)
    assert solves.iterations < 300


def test_the_more_is_asked_the_more_is_missing_and_the_same_payload_flies() -> None:
    missing = [counted(payload)[0].shortfall or 0.0 for payload in FAR]
    assert 0.0 < missing[0] < missing[1]
    assert named(FAR[0]) == pytest.approx(named(FAR[1]), rel=2e-3)


def test_a_vehicle_with_speed_enough_is_looked_at_with_patience_alone() -> None:
    solves = CountedSolves()
    assert seen_in_haste(replace(solver(2600.0), remembered=solves)) is None
    assert solves.made == 0


def test_what_is_solved_for_exhaustively_is_not_refused_in_haste() -> None:
    assert seen_in_haste(replace(solver(FAR[0]), exhaustive=True)) is None

"""The greatest payload of a refusal: one program, whatever was asked and wherever it begins."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.motor_acceleration import payload_that_motors_bear
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.solve import DesignSolver
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.payload.freed import FreedPayload, left_of
from ascentopt.optimal.payload.start import beginnings
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.solve.ways_within_limits import impose_limits_directly
from ascentopt.optimal.task import Task
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.explain.launches import fixed_thrust_under_limits_on_all_loads

FLOWN = (900.0, 2400.0, 3600.0)
"""kg: two that fly, and one that overdraws its tank."""


def solver(payload: float) -> Task:
    return task_of(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)


@cache
def flight(payload: float) -> Attempt:
    """Its direct insertion within the limits, with a tank that may be overdrawn."""
    roomy = with_relaxed_tank(solver(payload))
    return impose_limits_directly(roomy, attempt_from_first_guess(roomy, direct(roomy.vehicle)))


def greatest(payload: float) -> float:
    """kg, begun from a flight with so much."""
    task = solver(payload)
    found = FreedPayload(task, 0.0).designed(task, [flight(payload)])
    assert found is not None
    return found.vehicle.payload_mass


def test_the_greatest_payload_is_the_same_wherever_it_begins() -> None:
    found = [greatest(payload) for payload in FLOWN]
    assert found == pytest.approx([found[0]] * len(found), rel=1e-4)


@pytest.mark.parametrize("payload", FLOWN)
def test_steps_lead_there_from_above_and_from_below(payload: float) -> None:
    task = solver(payload)
    found = FreedPayload(task, 0.0)._in_steps(task.in_haste(), flight(payload))
    assert found is not None
    assert found.vehicle.payload_mass == pytest.approx(greatest(payload), rel=1e-4)


def test_the_payload_named_leaves_a_little_and_is_the_same_whatever_was_asked() -> None:
    told = [heaviest_flight(solver(asked), []) for asked in (3500.0, 5000.0)]
    first, second = (one for one in told if isinstance(one, HeaviestFlight))
    assert first.payload == pytest.approx(second.payload, rel=1e-6)
    assert 0.0 < first.shortfall < second.shortfall
    assert 0.0 < left_of(first.attempt) < 0.01 * first.payload


def test_an_attempt_that_flies_comes_back_where_what_was_asked_does() -> None:
    found = heaviest_flight(solver(2500.0), [])
    assert isinstance(found, Attempt)
    assert found.flies


def test_slopes_of_a_flight_far_too_heavy_promise_no_less_than_what_is_found() -> None:
    """So that what promises too little is left."""
    heavy = FLOWN[-1]
    foretold = DesignSolver(solver(heavy), Design.greatest_payload()).foretold(flight(heavy))
    assert foretold is not None
    assert greatest(heavy) < foretold[0] < heavy


def test_nothing_is_solved_for_what_no_payload_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    begun = flight(FLOWN[0])

    def solved(*_: object) -> None:
        raise AssertionError("solved")

    monkeypatch.setattr(DesignSolver, "solved", solved)
    most = FLOWN[0] + left_of(begun)
    assert FreedPayload(solver(FLOWN[0]), 2.0 * most).designed(solver(FLOWN[0]), [begun]) is None
    with pytest.raises(AssertionError, match="solved"):
        FreedPayload(solver(FLOWN[0]), 0.0).designed(solver(FLOWN[0]), [begun])


def test_no_flight_is_begun_at_the_edge_of_what_motors_bear() -> None:
    """There their limit acts from the first iterate on."""
    launch = fixed_thrust_under_limits_on_all_loads()
    task, asked = task_of(launch.vehicle, launch.mission), list[float]()
    borne = payload_that_motors_bear(launch.vehicle, launch.mission)

    def unsolved(task: Task) -> list[Attempt]:
        asked.append(task.vehicle.payload_mass)
        return []

    assert list(beginnings(task, 0.0, unsolved, 700.0)) == []
    assert 0.0 < borne < min(asked)
    assert max(asked) < launch.vehicle.payload_mass


def test_no_payload_is_begun_with_twice() -> None:
    """Where nothing is solved each is lighter than the last, down to the least there is."""
    asked: list[float] = []

    def unsolved(task: Task) -> list[Attempt]:
        asked.append(task.vehicle.payload_mass)
        return []

    assert list(beginnings(solver(900.0), 0.0, unsolved)) == []
    assert asked == sorted(set(asked), reverse=True)
    assert len(asked) > 2

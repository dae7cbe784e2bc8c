"""From a light vehicle's flight to the heaviest one's: by the rocket equation, and by secants."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.explain.payload_climb import (
    TO_SPARE,
    OwnTank,
    RelaxedTank,
    Rung,
    climb,
    delta_v_left,
)
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempts import attempt_from_first_guess
from ascentopt.optimal.solve.impose_limits import impose_limits_directly
from ascentopt.optimal.task import Task
from tests.launchers import PELICAN_POINT, TURNSTONE

LIGHT = (900.0, 1800.0, 2400.0)
"""kg, all of which fly."""


def solver(payload: float) -> Task:
    return task_of(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)


@cache
def light(payload: float) -> Attempt:
    """Its direct insertion, within the limits."""
    own = solver(payload)
    return impose_limits_directly(own, attempt_from_first_guess(own, direct(own.vehicle)))


@cache
def top(payload: float, asked: float) -> Rung:
    """The heaviest flight below a payload asked, climbed to from a light one."""
    found = climb(solver(asked), solver(payload).vehicle, light(payload))
    assert found is not None
    vehicle, flight = found
    return Rung(vehicle, flight, delta_v_left(vehicle, flight, None))


@pytest.mark.slow
def test_the_heaviest_payload_is_the_same_wherever_the_climb_begins() -> None:
    found = [top(payload, 3500.0) for payload in LIGHT]
    assert all(0.0 <= one.left < TO_SPARE for one in found)
    assert [one.payload for one in found] == pytest.approx([found[0].payload] * 3, rel=2e-3)


def test_the_heaviest_payload_is_the_same_whatever_was_asked() -> None:
    assert top(1800.0, 5000.0).payload == pytest.approx(top(1800.0, 3500.0).payload, rel=1e-3)


def test_a_climb_ends_at_the_payload_asked_where_that_flies() -> None:
    found = top(900.0, 2500.0)
    assert found.payload == pytest.approx(2500.0, rel=1e-9)
    assert found.attempt.keeps_limits
    assert found.left > TO_SPARE


def test_a_step_too_long_overdraws_the_tank_and_says_how_long_it_may_be() -> None:
    """Between what is left and what is overdrawn lies the payload with nothing to spare."""
    payload, asked = 2400.0, 3000.0
    heavy, own = solver(asked), delta_v_left(solver(payload).vehicle, light(payload), None)
    assert OwnTank().rung(heavy.in_haste(), light(payload)) is None
    overdrawn = RelaxedTank().rung(heavy, light(payload))
    assert overdrawn is not None
    assert overdrawn.left < 0.0 < own
    between = payload + (asked - payload) * own / (own - overdrawn.left)
    near = RelaxedTank().rung(solver(between), light(payload))
    assert near is not None
    assert abs(near.left) < 0.05 * (own - overdrawn.left)

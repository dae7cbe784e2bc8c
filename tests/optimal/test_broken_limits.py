"""Where no flight keeps the limits, the refusal says which are broken, and by how much."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.optimize import Effort
from ascentopt.optimal.refusal import infeasible
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.violations import excesses, loads
from ascentopt.units import deg, kPa
from tests.optimal.launchers import earth_mission
from tests.optimal.test_limits import vehicle


def solving() -> Solving:
    effort = Effort()
    return Solving(
        vehicle=vehicle(),
        mission=earth_mission(),
        settings=effort.settings,
        refinement=effort.refinement,
    )


@pytest.fixture(scope="module")
def attempt() -> Attempt:
    return solving().attempt(FlightPlan(inserting_stage=1))


def test_only_limits_that_are_broken_are_named(attempt: Attempt) -> None:
    found, sequence = attempt.found, attempt.sequence
    bears = max(load.dynamic_pressure for load in loads(found, sequence))
    tight = ao.FlightLimits(dynamic_pressure=0.6 * bears, q_alpha=1e9)
    named = excesses(found, sequence, tight)
    assert named == (f"dynamic pressure {bears / kPa:.4g} kPa (limit {0.6 * bears / kPa:.4g})",)
    assert excesses(found, sequence, replace(tight, dynamic_pressure=1.01 * bears)) == ()


def test_each_limit_has_its_own_unit(attempt: Attempt) -> None:
    limits = ao.FlightLimits(q_alpha=1 * kPa * deg, angle_of_attack=0.5 * deg)
    text = "; ".join(excesses(attempt.found, attempt.sequence, limits))
    assert "q alpha" in text
    assert "kPa deg (limit 1)" in text
    assert "deg (limit 0.5)" in text


def test_the_refusal_quotes_the_mildest_flight(attempt: Attempt) -> None:
    said = ("dynamic pressure 38 kPa (limit 25)",)
    failed = replace(attempt, solution=None, shortfall=None, broken=said)
    refusal = infeasible(solving(), [failed])
    assert "direct insertion: dynamic pressure 38 kPa (limit 25)" in str(refusal)
    assert "no flight to the orbit was found within the limits" in str(refusal)
    assert refusal.shortfall is None

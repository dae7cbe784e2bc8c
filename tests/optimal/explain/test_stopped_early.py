"""Refusals where a limit on acceleration stops engines that do not throttle, their tanks not empty.

Least thrust over the limit is a least mass: the stage on top must keep 12237 kg, of which 8200 are
its own and the payload's. More payload means less of that is propellant.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.solve.ways_within_limits import shortfall_within_limits
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.units import g0, km
from tests.optimal.explain.launches import of_fixed_thrust
from tests.optimal.launchers import Launch

TRANSFER, LOWER = 35786 * km, 4000 * km
"""Apoapsides: no payload reaches the first within 5 g, some that are heavier the second."""


@cache
def refused(launch: Launch) -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(launch.vehicle, launch.mission)
    return caught.value


@cache
def transfer(payload: float = 4000.0, limit: float = 5.0) -> ao.InfeasibleAscent:
    return refused(of_fixed_thrust(apoapsis=TRANSFER, payload=payload, limit=limit))


@cache
def lower(payload: float) -> ao.InfeasibleAscent:
    return refused(of_fixed_thrust(apoapsis=LOWER, payload=payload))


def missing(refusal: ao.InfeasibleAscent) -> float:
    assert refusal.shortfall is not None
    return refusal.shortfall


def left(launch: Launch) -> float:
    return ao.optimize(launch.vehicle, launch.mission).propellant_margin


@pytest.mark.slow
def test_limits_that_are_kept_lower_down_are_not_said_to_be_broken_wherever_a_flight_ends() -> None:
    """With 1900 m/s missing an e-fold of the loads is worth more than its price: it was bought."""
    launch = of_fixed_thrust(apoapsis=TRANSFER)
    task = task_of(launch.vehicle, launch.mission)
    short = attempt_from_first_guess(task, next(plans(launch.vehicle, launch.mission)))
    within = shortfall_within_limits(task, short)
    assert within.least_violation_anywhere is None
    assert within.shortfall_keeps_limits
    assert within.shortfall is not None
    assert short.shortfall is not None
    assert within.shortfall > short.shortfall > 1500.0


@pytest.mark.slow
def test_the_limit_named_flies_and_one_per_cent_less_does_not() -> None:
    eased = transfer().diagnosis.eased
    assert eased.payload == 4000.0
    named = eased.limit / g0
    assert left(of_fixed_thrust(apoapsis=TRANSFER, limit=named)) > 0.0
    assert missing(transfer(limit=0.99 * named)) > 0.0


@pytest.mark.slow
def test_what_is_missing_falls_as_the_limit_rises_to_one_limit_that_flies() -> None:
    found = [transfer(limit=limit) for limit in (5.0, 5.25, 6.0)]
    first, second, third = map(missing, found)
    assert first > second > third > 0.0
    named = [one.diagnosis.eased.limit for one in found]
    assert named == pytest.approx([named[0]] * 3, rel=1e-3)


@pytest.mark.slow
def test_another_restart_and_a_part_in_ten_billion_leave_what_is_missing() -> None:
    launch = of_fixed_thrust(apoapsis=TRANSFER)
    first, last = launch.vehicle.stages
    twice = replace(launch.vehicle, stages=(first, replace(last, restarts=2)))
    again = refused(replace(launch, vehicle=twice))
    assert missing(again) <= missing(transfer()) + 0.1
    nudged = missing(transfer(4000.0 * (1.0 + 1e-10)))  # by one of two flights, 0.2 m/s apart
    assert nudged == pytest.approx(missing(transfer()), rel=1e-3)


@pytest.mark.slow
def test_a_refusal_tells_what_cannot_be_burned_and_which_limit_would_let_it() -> None:
    told = str(transfer())
    assert "17350 kg in stage 'a' and 4037 kg in stage 'b' cannot be burned" in told
    within = re.search(r"with 4000 kg the orbit is reached within one of ([0-9.]+) g", told)
    assert within is not None
    assert float(within[1]) == pytest.approx(6.91, abs=0.01)
    assert "wherever it ends" not in told
    assert "take payload off" not in told


@pytest.mark.slow
def test_a_payload_below_the_greatest_flies_and_two_per_cent_above_it_does_not() -> None:
    named = lower(4000.0).diagnosis.payload
    assert "ballast" in str(lower(4000.0))
    assert left(of_fixed_thrust(apoapsis=LOWER, payload=0.99 * named)) > 0.0
    heavy = lower(1.02 * named)
    assert heavy.diagnosis.payload == pytest.approx(named, rel=1e-3)
    assert "ballast" not in str(heavy)

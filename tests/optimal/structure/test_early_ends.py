"""A liquid stage below the last may be cut off before its propellant is, and is then dropped.

With fixed thrust the load grows as the tank empties; a limit on it is kept by ending the burn
where thrust over mass comes up to it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import STANDARD_GRAVITY, kN, kPa, tonne
from tests.launchers import PELICAN_POINT, TURNSTONE

LASTS = 62.0 * tonne * 311.0 * STANDARD_GRAVITY / (1150.0 * kN)
"""s that the propellant of the first stage lasts at full thrust."""


def throttling(vehicle: ao.Vehicle, least: float) -> ao.Vehicle:
    """The same vehicle with a first stage that throttles down to a share of its thrust."""
    first, *above = vehicle.stages
    assert isinstance(first.engine, ao.Engine)
    first = replace(first, engine=replace(first.engine, min_throttle=least))
    return replace(vehicle, stages=(first, *above))


@cache
def within(load: float | None, least: float = 1.0) -> ao.Ascent:
    """Within so many g along the axis, of a first stage that throttles to a share."""
    axial = None if load is None else load * STANDARD_GRAVITY
    limits = ao.FlightLimits(dynamic_pressure=40 * kPa, axial_acceleration=axial)
    return ao.optimize(throttling(TURNSTONE, least), replace(PELICAN_POINT, limits=limits))


def staged(ascent: ao.Ascent) -> float:
    """s at which the first stage is dropped."""
    return ascent.events["first separation"].time


def test_a_load_that_fixed_thrust_would_pass_is_kept_by_an_early_end() -> None:
    ascent = within(5.5)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.propellant_margin > 1.0 * tonne
    assert ascent.plan.cut_early == (0,)
    assert staged(ascent) < LASTS - 5.0


def test_the_first_stage_ends_where_its_thrust_is_the_limit() -> None:
    """In next to no air: thrust over mass, drag and back pressure aside (0.1 % at 59 km)."""
    row = within(5.5).events["first separation"]
    load = 1150.0 * kN / row.mass_before / STANDARD_GRAVITY
    assert load == pytest.approx(5.5, rel=5e-3)


def test_what_it_has_left_is_dropped_with_it() -> None:
    """And counts as used."""
    ascent = within(5.5)
    row = ascent.events["first separation"]
    left = row.mass_before - row.mass_after - TURNSTONE.stages[0].dry_mass
    flow = 62.0 * tonne / LASTS
    assert left == pytest.approx(flow * (LASTS - staged(ascent)), rel=1e-3)
    aboard = sum(stage.propellant_mass for stage in TURNSTONE.stages)
    assert ascent.propellant_used + ascent.propellant_margin == pytest.approx(aboard, rel=1e-9)


def test_the_independent_flight_keeps_the_limit() -> None:
    flight = within(5.5).trajectory
    peak = flight.peak(type(flight).axial_acceleration).value
    assert peak < 5.5 * STANDARD_GRAVITY * 1.005


@pytest.mark.slow
def test_without_a_limit_the_first_stage_burns_to_its_end() -> None:
    free = within(None)
    assert free.plan.cut_early == ()
    assert staged(free) == pytest.approx(LASTS, abs=1e-6)
    assert free.propellant_margin > within(5.5).propellant_margin


@pytest.mark.slow
def test_a_stage_that_can_throttle_to_the_limit_burns_to_its_end_too() -> None:
    """And leaves more than an early end, less than no limit."""
    eased = within(5.5, least=0.6)
    assert eased.certificate.verdict is Verdict.CERTIFIED
    assert eased.plan.cut_early == ()
    assert staged(eased) > LASTS
    assert within(5.5).propellant_margin < eased.propellant_margin
    assert eased.propellant_margin < within(None, least=0.6).propellant_margin


@pytest.mark.slow
def test_a_higher_limit_never_leaves_less() -> None:
    """Through the one from which on the stage need not end early."""
    margins = [within(load).propellant_margin for load in (5.0, 5.5, 6.0, 6.5, None)]
    losses = [before - after for before, after in pairwise(margins)]
    assert max(losses) < 1e-7 * within(None).propellant_used  # 6.5 g never act: the same but digits

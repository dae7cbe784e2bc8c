"""Orbits that are too high for burns without a coast."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.structure.enumeration import solved_or_skipped
from ascentopt.units import km
from tests.launchers import PELICAN_POINT, TURNSTONE

HIGH = replace(PELICAN_POINT, orbit=ao.CircularOrbit(altitude=35786 * km))


def test_burns_from_the_pad_on_that_are_over_too_low_are_not_solved_for() -> None:
    found = solved_or_skipped(task_of(TURNSTONE, HIGH), direct(TURNSTONE), [])
    assert found.skipped
    assert "when it has burned all" in found.history[-1]


def test_to_low_orbits_they_are_solved_for() -> None:
    assert solved_or_skipped(task_of(TURNSTONE, PELICAN_POINT), direct(TURNSTONE), []).reached


@pytest.mark.slow
def test_an_orbit_too_high_for_them_is_reached_with_a_coast() -> None:
    ascent = ao.optimize(replace(TURNSTONE, payload_mass=150.0), HIGH)
    assert ascent.plan.restarts >= 1
    skipped = [one for one in ascent.candidates if one.standing is Standing.SKIPPED]
    assert direct(TURNSTONE) in [one.plan for one in skipped]

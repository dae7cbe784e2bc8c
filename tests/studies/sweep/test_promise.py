"""What partials of both sides foretell of another structure."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.studies.sweep.promise import promises

BEST = ao.SweepAnswer(
    point=0,
    serial=0,
    near=(),
    outcome=ao.PointOutcome.FLIES,
    seconds=1.0,
    plan="direct insertion",
    propellant_used=9000.0,
    propellant_margin=1000.0,
    ballast=0.0,
    capacity=10000.0,
    slopes=(("mass", 0.4), ("thrust with flow", -2.0)),
)
HERE, THERE = {"mass": 900.0, "other": 1.0}, {"mass": 1000.0, "other": 1.0}


def beside(used: float, slope: float = 0.6) -> ao.SweepAnswer:
    """The neighbour a hundred kilograms heavier."""
    return replace(BEST, plan="burn, coast, burn", propellant_used=used, slopes=(("mass", slope),))


@pytest.mark.parametrize(
    ("used", "worth"),
    [(9050.0, False), (9050.05, False), (9049.95, False), (9049.8, True), (9060.0, False)],
)
def test_it_is_worth_it_where_the_mean_of_the_partials_foretells_less(
    used: float, worth: bool  # noqa: FBT001
) -> None:
    assert promises(BEST, beside(used), HERE, THERE) is worth


def test_ballast_is_saved_all_the_same() -> None:
    carries = replace(beside(9050.0), ballast=5.0)
    assert promises(BEST, carries, HERE, THERE)


def test_a_refusal_is_always_worth_it() -> None:
    refused = replace(BEST, outcome=ao.PointOutcome.REFUSED, plan="", slopes=())
    assert promises(refused, beside(9999.0), HERE, THERE)


def test_without_a_partial_of_all_that_differs_nobody_knows() -> None:
    assert promises(BEST, beside(9999.0), {**HERE, "other": 2.0}, THERE)
    assert promises(BEST, replace(beside(9999.0), slopes=()), HERE, THERE)
    assert not promises(BEST, beside(9999.0), HERE, THERE)


def test_what_changes_together_has_one_partial() -> None:
    one = replace(BEST, slopes=(("thrust with flow", -2.0),))
    other = replace(one, propellant_used=8999.0)
    assert not promises(one, other, {"thrust": 10.0, "flow": 1.0}, {"thrust": 10.5, "flow": 1.05})
    assert promises(one, other, {"thrust": 10.0, "flow": 1.0}, {"thrust": 10.4, "flow": 1.04})
    assert promises(one, other, {"thrust": 10.0, "flow": 1.0}, {"thrust": 10.5, "flow": 1.0})

"""What a drift is put down to."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.baselines.explanation import InputChange
from ascentopt.baselines.inputs import Input
from ascentopt.descriptions.schema.dimensions import DIMENSIONS
from tests.baselines.ascents import brisk, case
from tests.optimal.test_all_solid import flown

NAMES = ("payload_mass", "dry_mass", "vacuum_isp")
SIZES = st.floats(min_value=1.0, max_value=1e4)
STEPS = st.floats(min_value=-0.5, max_value=0.5).filter(lambda share: abs(share) > 1e-6)
SLOPES = st.floats(min_value=-10.0, max_value=10.0)


def check(
    recorded: ao.BaselineCase, found: ao.BaselineCase, tolerance: ao.CostTolerance | None = None
) -> ao.BaselineCheck:
    own = recorded if tolerance is None else replace(recorded, tolerance=tolerance)
    return ao.BaselineCheck(name="one", recorded=own, found=found)


@st.composite
def moved(draw: st.DrawFn) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """Inputs, what they are now, and their partials."""
    old = {name: draw(SIZES) for name in NAMES}
    new = {name: value * (1.0 + draw(STEPS)) for name, value in old.items()}
    return old, new, {name: draw(SLOPES) for name in NAMES}


@given(moved())
def test_the_prediction_is_linear(
    numbers: tuple[dict[str, float], dict[str, float], dict[str, float]],
) -> None:
    old, new, partials = numbers
    alone = [
        check(case(inputs=old, partials=partials), case(inputs={**old, name: new[name]})).predicted
        for name in NAMES
    ]
    together = check(case(inputs=old, partials=partials), case(inputs=new))
    assert together.predicted == pytest.approx(sum(alone), rel=1e-9, abs=1e-9)
    doubled = {name: 2.0 * new[name] - old[name] for name in NAMES}
    twice = check(case(inputs=old, partials=partials), case(inputs=doubled))
    assert twice.predicted == pytest.approx(2.0 * together.predicted, rel=1e-6, abs=1e-6)
    assert together.predicted + together.unexplained == pytest.approx(together.difference)


@given(moved(), st.floats(min_value=-1e-3, max_value=1e-3))
def test_the_mean_of_both_partials_is_right_to_second_order(
    numbers: tuple[dict[str, float], dict[str, float], dict[str, float]], bend: float
) -> None:
    """A cost with every second derivative: what is left unexplained is rounding."""
    old, new, partials = numbers

    def cost(at: dict[str, float]) -> float:
        offset = [at[name] - old[name] for name in NAMES]
        slope = sum(partials[name] * by for name, by in zip(NAMES, offset, strict=True))
        return 1e5 + slope + 0.5 * bend * sum(offset) ** 2

    def slopes(at: dict[str, float]) -> dict[str, float]:
        total = sum(at[name] - old[name] for name in NAMES)
        return {name: partials[name] + bend * total for name in NAMES}

    recorded = case(cost=1e6, inputs=old, partials=partials)
    difference = cost(new) - cost(old)
    found = case(cost=1e6 + difference, inputs=new, partials=slopes(new))
    told = check(recorded, found)
    assert sum(change.by_both or 0.0 for change in told.changes) == pytest.approx(
        difference, rel=1e-6, abs=1e-6
    )


THRUSTS = {"engine.vacuum_thrust": 1000.0, "engine.sea_level_thrust": 800.0}
TOGETHER = {"engine.vacuum_thrust with engine.sea_level_thrust": -0.01}


def test_inputs_that_have_a_partial_together_must_change_by_the_same_share() -> None:
    recorded = case(inputs=THRUSTS, partials=TOGETHER)
    grown = {name: 1.1 * value for name, value in THRUSTS.items()}
    [both] = check(recorded, case(inputs=grown)).changes
    assert both.predicted == pytest.approx(-1.0)
    assert both.along == ("engine.sea_level_thrust",)
    for apart in (
        {**grown, "engine.sea_level_thrust": 890.0},
        {**THRUSTS, **dict([grown.popitem()])},
    ):
        changes = check(recorded, case(inputs=apart)).changes
        assert changes
        assert all(change.unpriced for change in changes)


def test_the_headline_says_it_all() -> None:
    inputs: dict[str, Input] = {"vehicle.payload_mass": 1000.0}
    recorded = case(cost=12000.0, inputs=inputs, partials={"vehicle.payload_mass": 0.811})
    found = case(cost=12008.12, inputs={"vehicle.payload_mass": 1010.0})
    told = check(recorded, found)
    assert not told
    assert str(told).splitlines()[0] == (
        "one: +8.12 kg: vehicle.payload_mass 1000 -> 1010 kg predicts +8.11, unexplained +0.01"
    )
    assert "first order" in str(told)


def test_what_has_no_partial_is_named_as_such() -> None:
    old: dict[str, Input] = {"a.restarts": 1, "a.curve": (1.0, 2.0), "a.mass": 3.0, "a.kind": "x"}
    new: dict[str, Input] = {"a.restarts": 2, "a.curve": (1.0, 2.5), "a.more": 1.0, "a.kind": "y"}
    text = str(check(case(inputs=old), case(cost=1001.0, inputs=new)))
    for line in (
        "a.restarts 1 -> 2 has no partial",
        "a.curve [1, 2] -> [1, 2.5] has no partial",
        "a.mass 3 -> none kg has no partial",
        "a.more none -> 1 has no partial",
        "a.kind 'x' -> 'y' has no partial",
        "5 inputs changed, 0 of them with a partial",
    ):
        assert line in text
    assert "first order" not in text


def test_a_name_costs_nothing() -> None:
    old: dict[str, Input] = {"vehicle.name": "Wren"}
    told = check(case(inputs=old), case(cost=1001.0, inputs={"vehicle.name": "Robin"}))
    assert told.predicted == 0.0
    assert "unexplained +1.00" in str(told)


def test_rounding_is_no_change() -> None:
    old: dict[str, Input] = {"mass": 1000.0, "curve": (1.0, 2.0), "zero": 0.0}
    new: dict[str, Input] = {"mass": 1000.0 * (1 + 2e-10), "curve": (1.0 - 1e-10, 2.0), "zero": 0.0}
    assert check(case(inputs=old), case(inputs=new)).changes == ()


def test_a_long_list_is_cut_in_the_text_alone() -> None:
    old = {f"a[{k}]": float(k) for k in range(50)}
    new = {name: value + 1.0 for name, value in old.items()}
    told = check(case(inputs=old), case(cost=1002.0, inputs=new))
    assert len(told.changes) == 50
    assert "and 30 inputs more" in str(told)


def test_structure_and_verdict_are_told() -> None:
    told = check(case(), case(cost=1001.0, structure="burn, coast, burn", verdict="unsettled"))
    assert "structure was: direct insertion; is: burn, coast, burn" in str(told)
    assert "verdict was: certified; is: unsettled" in str(told)
    assert "no input changed, all of it is unexplained" in str(told)


def test_partials_of_another_structure_are_not_mixed() -> None:
    inputs: dict[str, Input] = {"payload_mass": 1000.0}
    partials = {"payload_mass": 0.8}
    changed = case(cost=1009.0, inputs={"payload_mass": 1010.0}, partials={"payload_mass": 0.9})
    same = str(check(case(inputs=inputs, partials=partials), changed))
    assert "by the mean of these and the present ones +8.50" in same
    other = replace(changed, structure="burn, coast, burn")
    text = str(check(case(inputs=inputs, partials=partials), other))
    assert "the recorded partials, which are of its structure" in text
    assert "mean" not in text


def test_a_drift_is_what_is_beyond_the_tolerance_on_either_side() -> None:
    by_mass = ao.CostTolerance(mass=0.5, share=0.0)
    assert check(case(), case(cost=1000.4), by_mass)
    assert check(case(), case(cost=999.6), by_mass)
    assert not check(case(), case(cost=1000.6), by_mass)
    better = check(case(), case(cost=999.4), by_mass)
    assert not better
    assert "better than recorded" in str(better)
    assert check(case(), case(cost=1000.6), ao.CostTolerance(mass=0.5, share=1e-3))


def test_a_worse_verdict_does_not_agree_and_a_better_one_does() -> None:
    worse = check(case(), case(verdict="unsettled"))
    assert not worse
    told = str(worse).splitlines()
    assert told[0] == "one: +0.00 kg: a worse verdict, no input changed, the cost agrees"
    assert "verdict was: certified; is: unsettled" in told[-1]
    assert not check(case(verdict="unsettled"), case(verdict="doubtful"))
    assert check(case(verdict="unsettled"), case(verdict="certified"))


def test_more_ballast_is_a_better_flight() -> None:
    told = check(
        replace(case(), ballast=20.0), replace(case(), ballast=25.0), ao.CostTolerance(mass=1.0)
    )
    assert told.difference == pytest.approx(-5.0)
    assert "ballast 20.00 -> 25.00 kg" in str(told)


def test_where_no_engine_can_be_cut_off_ballast_tells_the_drift() -> None:
    baseline = ao.Baseline().record("all solid", flown(300.0))
    told = baseline.check("all solid", flown(303.0))
    [change] = told.changes
    assert told.difference == pytest.approx(3.0, abs=1e-3)
    assert told.recorded.propellant_used == told.found.propellant_used
    assert change.predicted == pytest.approx(3.0, rel=1e-5)


def test_one_per_cent_more_payload_is_explained_by_its_partial() -> None:
    told = ao.Baseline().record("brisk", brisk()).check("brisk", brisk(1.01))
    assert not told
    [change] = told.changes
    assert change.name == "vehicle.payload_mass"
    assert told.predicted == pytest.approx(told.difference, rel=2e-3)
    assert change.by_both == pytest.approx(told.difference, rel=1e-5)


def test_numbers_of_one_name_have_one_unit() -> None:
    """They are told by the last part of their places."""
    found = defaultdict(set)
    for units in DIMENSIONS.values():
        for name, unit in units.items():
            found[name].add(unit)
    assert {name: units for name, units in found.items() if len(units) > 1} == {}


def test_units_are_told_of_bodies_and_their_air_too() -> None:
    change = InputChange(name="mission.body.rotation_rate", old=7.2e-5, new=7.3e-5)
    assert str(change).endswith("7.3e-05 rad/s")

"""Recording, checking, updating, merging."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.baselines import update_file
from ascentopt.tables.one_line import WIDTH
from tests.baselines.ascents import BASELINES, brisk, case


def test_what_was_recorded_agrees() -> None:
    baseline = ao.Baseline().record("brisk", brisk())
    told = baseline.check("brisk", brisk())
    assert told
    assert told.is_as_recorded
    assert "agrees" in str(told)


def test_a_loaded_ascent_agrees_as_well(tmp_path: Path) -> None:
    brisk().save(tmp_path / "ascent.json")
    baseline = ao.Baseline().record("brisk", brisk())
    assert baseline.check("brisk", ao.Ascent.load(tmp_path / "ascent.json")).is_as_recorded


def test_an_update_keeps_the_tolerance_and_leaves_alone_what_agrees() -> None:
    wide = ao.CostTolerance(mass=0.1, share=0.0)
    baseline = ao.Baseline().record("brisk", brisk(), tolerance=wide)
    assert baseline.update("brisk", brisk()) == baseline
    heavier = baseline.update("brisk", brisk(1.01))
    assert heavier["brisk"].tolerance == wide
    assert heavier["brisk"].inputs["vehicle.payload_mass"] == pytest.approx(1010.0)
    assert heavier.check("brisk", brisk(1.01))
    assert baseline.check("brisk", brisk())  # nothing is changed in place
    wider = baseline.update("brisk", brisk(), tolerance=ao.CostTolerance(mass=1.0))
    assert wider["brisk"].tolerance.mass == 1.0


@pytest.mark.exact(reason="a mass is told to ten digits as it was written")
def test_changed_inputs_are_recorded_though_the_cost_agrees() -> None:
    loose = ao.CostTolerance(mass=100.0)
    baseline = ao.Baseline().record("brisk", brisk(), tolerance=loose)
    told = baseline.check("brisk", brisk(1.01))
    assert told
    assert not told.is_as_recorded
    assert "vehicle.payload_mass 1000 -> 1010 kg" in str(told)
    renewed = baseline.update("brisk", brisk(1.01))
    assert renewed["brisk"].inputs["vehicle.payload_mass"] == pytest.approx(1010.0)


def test_a_tolerance_that_is_given_counts() -> None:
    baseline = ao.Baseline().record("brisk", brisk())
    assert not baseline.check("brisk", brisk(1.01))
    assert baseline.check("brisk", brisk(1.01), tolerance=ao.CostTolerance(mass=10.0))


@given(one=BASELINES, other=BASELINES)
def test_merging_is_the_same_both_ways(one: ao.Baseline, other: ao.Baseline) -> None:
    differing = [name for name in one if name in other and one[name] != other[name]]
    if differing:
        with pytest.raises(ao.InputError, match="is in both and differs"):
            one.merged_with(other)
        return
    both = one.merged_with(other)
    assert both == other.merged_with(one)
    assert both.text == other.merged_with(one).text
    assert set(both) == set(one) | set(other)
    assert both.merged_with(one) == both


@given(whole=BASELINES, data=st.data())
def test_parts_merge_to_the_whole(whole: ao.Baseline, data: st.DataObject) -> None:
    """Cases of both parts are the same in both, and a differing one is refused."""
    names = sorted(whole)
    one = set(data.draw(st.lists(st.sampled_from(names)))) if names else set()
    other = {*names} - one | (set(data.draw(st.lists(st.sampled_from(names)))) if names else set())
    parts = [ao.Baseline({name: whole[name] for name in part}) for part in (one, other)]
    assert parts[0].merged_with(parts[1]) == whole
    for name in one & other:
        changed = replace(whole[name], propellant_used=2e9)
        with pytest.raises(ao.InputError, match="is in both and differs"):
            parts[0].merged_with(ao.Baseline({**parts[1].cases, name: changed}))


@given(baseline=BASELINES, order=st.randoms(use_true_random=False))
def test_the_order_of_cases_does_not_matter(baseline: ao.Baseline, order: st.DataObject) -> None:
    names = list(baseline)
    order.shuffle(names)  # type: ignore[attr-defined]
    again = ao.Baseline({name: baseline[name] for name in names})
    assert again == baseline
    assert again.text == baseline.text
    assert str(again) == str(baseline)


WRONG: list[tuple[Callable[[], object], str]] = [
    (lambda: ao.Baseline().check("brisk", brisk()), "case is 'brisk'; it must be one that is rec"),
    (lambda: ao.Baseline({"brisk": case()}).check("brsk", brisk()), "near it are 'brisk'"),
    (lambda: ao.Baseline({"a": case()}).record("a", brisk()), "case 'a' is recorded"),
    (lambda: ao.Baseline().record("", brisk()), "name is ''; it must be a text that can be"),
    (lambda: ao.Baseline().record("a\n", brisk()), "name is 'a\\\\n'"),
    (lambda: ao.Baseline().record(3, brisk()), "name is 3"),  # type: ignore[arg-type]
    (lambda: ao.Baseline().record("a", None), "ascent is None; it must be of type Ascent"),  # type: ignore[arg-type]
    (lambda: ao.Baseline().record("a", "ascent.json"), "ascent is 'ascent.json'"),  # type: ignore[arg-type]
    (lambda: ao.Baseline().record("a", brisk(), tolerance=1.0), "tolerance is 1.0"),  # type: ignore[arg-type]
    (lambda: ao.Baseline({"a": case()}).check("a", brisk(), tolerance=1e-3), "tolerance is 0.001"),  # type: ignore[arg-type]
    (lambda: ao.Baseline({"a": case()}).check([], brisk()), r"name is \[\]"),  # type: ignore[arg-type]
    (lambda: ao.Baseline({"a": 3}), r"cases\['a'\] is 3"),  # type: ignore[dict-item]
    (lambda: ao.Baseline([]), r"cases is \[\]"),  # type: ignore[arg-type]
    (lambda: ao.Baseline().without("a"), "case is 'a'"),
    (lambda: ao.Baseline().merged_with({}), "other is {}"),  # type: ignore[arg-type]
    (lambda: ao.CostTolerance(mass=-1.0), "mass is -1.0 kg; it must be zero or more"),
    (lambda: ao.CostTolerance(share="1%"), "share is '1%'"),  # type: ignore[arg-type]
    (lambda: ao.CostTolerance(share=0.0), "both 0"),
    (lambda: ao.CostTolerance(share=1.0), "below 1"),
    (lambda: case(cost=float("nan")), "propellant_used is nan"),
    (lambda: case(verdict="fine"), "verdict is 'fine'"),
    (lambda: case(inputs={"a": None}), r"inputs\['a'\] is None"),  # type: ignore[dict-item]
    (lambda: case(partials={"a": "b"}), r"partials\['a'\] is 'b'"),  # type: ignore[dict-item]
    (lambda: case(inputs={"mass": 1.0}, partials={"mas": 2.0}), "'mas' in it must be"),
    (lambda: case(inputs={"a": 1.0}, partials={"a with b": 2.0}), "'b' in it must be"),
    (lambda: case(structure="\ud800"), "structure is"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "told"), WRONG)
def test_what_cannot_be_is_refused(make: Callable[[], object], told: str) -> None:
    with pytest.raises(ao.InputError, match=told):
        make()


def test_a_file_is_made_renewed_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "costs.toml"
    assert update_file(path, "brisk", brisk()) is None
    first = path.read_text()
    again = update_file(path, "brisk", brisk())
    assert again is not None
    assert again.is_as_recorded
    assert path.read_text() == first
    drifted = update_file(path, "brisk", brisk(1.01))
    assert drifted is not None
    assert not drifted
    assert ao.Baseline.read(path).check("brisk", brisk(1.01))


def test_a_case_is_told_in_a_line() -> None:
    told = repr(case())
    assert told.startswith("BaselineCase(1000.00 kg used, certified, ")
    assert len(told) <= WIDTH
    assert "inputs" in told

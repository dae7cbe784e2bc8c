"""Comparisons with rules of a user's own: saved, and loaded with their classes or without."""

from __future__ import annotations

import copy
import importlib
import json
import pickle
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.rules.insertion.insertion import Arrival
from tests.rules.own_rules import HEIGHT, ROOT, ROOT_CALLED, PowerLean, RootLean
from tests.studies.wren import MISSION, VEHICLE

TANGENT = ao.LinearTangentInsertion()
RULES = (ROOT, ROOT_CALLED, PowerLean(1))


@pytest.fixture(scope="module")
def found() -> ao.Comparison:
    return ao.compare(VEHICLE, MISSION, catalogue=ao.Catalogue(rules=RULES, insertions=(TANGENT,)))


@pytest.fixture(scope="module")
def file(found: ao.Comparison, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("saved") / "comparison.json"
    found.save(path)
    return path


def outcome(comparison: ao.Comparison, rule: ao.Rule) -> ao.RuleOutcome:
    return next(one for one in comparison.outcomes if one.rule == rule.name)


def test_a_rule_without_a_habit_is_only_tuned(found: ao.Comparison) -> None:
    assert [one.tuned for one in found.outcomes] == [True] * 3
    assert all(one.reached for one in found.outcomes)


def test_none_is_cheaper_than_the_optimum(found: ao.Comparison) -> None:
    assert all(one.penalty is not None and one.penalty > 0.0 for one in found.outcomes)


@pytest.mark.parametrize(
    ("given", "flies"),
    [
        ([], ()),
        ([RootLean], (ROOT,)),
        ([ROOT], (ROOT,)),
        ([ROOT_CALLED], (ROOT_CALLED,)),
        ([RootLean, ROOT_CALLED, PowerLean], RULES),
    ],
)
def test_data_are_loaded_always_and_laws_with_their_classes(
    found: ao.Comparison, file: Path, given: Sequence[object], flies: Sequence[ao.Rule]
) -> None:
    again = ao.Comparison.load(file, rules=given)
    assert str(again) == str(found)
    for rule in RULES:
        law = outcome(again, rule).law
        assert law is not None
        if rule in flies:
            assert law == outcome(found, rule).law
            ao.fly(VEHICLE, MISSION, law)
        else:
            with pytest.raises(ao.InputError, match=r"load\(path, rules=\["):
                ao.fly(VEHICLE, MISSION, law)


def test_what_was_not_given_is_named(file: Path) -> None:
    law = outcome(ao.Comparison.load(file), ROOT).law
    assert law is not None
    with pytest.raises(ao.InputError, match=r"'tests\.rules\.own_rules:RootLean'.*\[RootLean\]"):
        ao.fly(VEHICLE, MISSION, law)
    assert copy.deepcopy(law) == law == pickle.loads(pickle.dumps(law))


def test_what_was_loaded_without_classes_is_saved_whole(file: Path, tmp_path: Path) -> None:
    ao.Comparison.load(file).save(tmp_path / "again.json")
    assert (tmp_path / "again.json").read_text() == file.read_text()


def test_nothing_is_imported_because_a_file_names_it(file: Path, tmp_path: Path) -> None:
    # A module that would leave a trace; the class of a rule is said to stand there.
    trace = tmp_path / "imported"
    (tmp_path / "trap.py").write_text(f"import pathlib\npathlib.Path({str(trace)!r}).touch()\n")
    text = file.read_text().replace("tests.rules.own_rules:", "trap:")
    persistence.write(tmp_path / "trapped.json", json.loads(text))
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(tmp_path))
        again = ao.Comparison.load(tmp_path / "trapped.json", rules=[RootLean])
        law = outcome(again, ROOT).law
        assert law is not None
        with pytest.raises(ao.InputError, match="'trap:RootLean'"):
            ao.fly(VEHICLE, MISSION, law)
        assert not trace.exists()
        importlib.import_module("trap")
        assert trace.exists()


def test_a_script_and_a_module_may_be_the_same(file: Path, tmp_path: Path) -> None:
    text = file.read_text().replace("tests.rules.own_rules:", "__main__:")
    persistence.write(tmp_path / "script.json", json.loads(text))
    again = ao.Comparison.load(tmp_path / "script.json", rules=[RootLean, ROOT_CALLED])
    for rule in (ROOT, ROOT_CALLED):
        law = outcome(again, rule).law
        assert law is not None
        ao.fly(VEHICLE, MISSION, law)


@pytest.mark.parametrize("given", [["RootLean"], [None], [3]])
def test_a_name_is_no_class(file: Path, given: Sequence[object]) -> None:
    with pytest.raises(ao.InputError, match="must be a class"):
        ao.Comparison.load(file, rules=given)


def test_rules_that_a_file_cannot_tell_apart_are_refused(file: Path) -> None:
    rules = [
        ao.CallableRule(name="alike", open=(HEIGHT,), function=function)
        for function in (lambda now, numbers: now.up, lambda now, numbers: now.east)
    ]
    with pytest.raises(ao.InputError, match="look like"):
        ao.Comparison.load(file, rules=rules)


def test_a_file_from_before_loads(found: ao.Comparison, file: Path, tmp_path: Path) -> None:
    # Numbers of rules told neither that they are fixed nor that they stand at a bound.
    data = json.loads(file.read_text())
    for one in data["outcomes"]:
        for number in one["fields"]["parameters"]:
            del number["fields"]["fixed"], number["fields"]["at_bound"]
    del data["checksum"]
    (tmp_path / "old.json").write_text(json.dumps({**data, "version": 1}))
    assert str(ao.Comparison.load(tmp_path / "old.json")) == str(found)


@dataclass(frozen=True, kw_only=True)
class LastStageOnly(ao.Circularise):
    """Coasts in the last stage's burns, and by no other plan."""

    @property
    def name(self) -> str:
        return "coast in the last stage"

    def ways(self, vehicle: ao.Vehicle, arrival: Arrival) -> tuple[ao.Insertion, ...]:
        return super().ways(vehicle, arrival)[:1]


def test_an_insertion_of_ones_own(found: ao.Comparison, tmp_path: Path) -> None:
    chosen = ao.Catalogue(rules=(ao.KickRule(),), insertions=(LastStageOnly(), ao.Circularise()))
    best = found.ascent
    both = ao.compare(best.vehicle, best.mission, ascent=best, catalogue=chosen)
    own, ours = (
        next(one for one in both.outcomes if one.insertion == name and one.tuned)
        for name in ("coast in the last stage", "coast and circularise")
    )
    assert own.propellant_used == ours.propellant_used  # it is the plan that ours chooses here
    both.save(tmp_path / "own.json")
    law = next(one.law for one in ao.Comparison.load(tmp_path / "own.json").outcomes if one.law)
    ao.fly(VEHICLE, MISSION, law)  # an insertion is in the law as numbers, not as a class

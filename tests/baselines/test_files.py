"""Baselines as files: what was written is read, and what was damaged is refused by name."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.baselines import update_file
from ascentopt.baselines.file import held
from ascentopt.baselines.writing import text_of
from tests.baselines.ascents import BASELINES, brisk, case, cases

SHARED_FOLDER = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])

NUMBERS = {"vehicle.payload_mass": 1000.0, "vehicle.stages[0].restarts": 1}


def written(path: Path, **cases_by_name: ao.BaselineCase) -> Path:
    """A file of these cases."""
    ao.Baseline(cases_by_name).write(path)
    return path


@SHARED_FOLDER
@given(baseline=BASELINES)
def test_what_was_written_is_read(baseline: ao.Baseline, tmp_path: Path) -> None:
    baseline.write(tmp_path / "costs.toml")
    again = ao.Baseline.read(tmp_path / "costs.toml")
    assert again == baseline
    assert again.text == baseline.text


@given(one=cases(), other=cases())
def test_the_order_of_cases_does_not_show(one: ao.BaselineCase, other: ao.BaselineCase) -> None:
    assert text_of({"a": one, "b": other}) == text_of({"b": other, "a": one})


def test_a_number_a_line() -> None:
    lines = ao.Baseline({"one": case(inputs=NUMBERS), "two": case()}).text.splitlines()
    dearer = ao.Baseline(
        {"one": case(cost=1001.0, inputs=NUMBERS), "two": case()}
    ).text.splitlines()
    assert [line for line, now in zip(lines, dearer, strict=True) if line != now] == [
        "propellant_used = 1000.0"
    ]
    assert '"vehicle.payload_mass" = 1000.0' in lines


def damaged(path: Path, old: str, new: str) -> str:
    """What is said of a file in which one text was replaced."""
    good = ao.Baseline({"one": case(inputs=NUMBERS, partials={"vehicle.payload_mass": 0.4})}).text
    assert old in good
    path.write_text(good.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ao.InputError) as told:
        ao.Baseline.read(path)
    return str(told.value)


DAMAGES = [
    ("propellant_used = 1000.0", "propellant_used = -3.0", "cases.one", "-3.0 kg", "positive"),
    ("propellant_used = 1000.0", 'propellant_used = "much"', "cases.one.propellant_used", "'much'",
     "a finite number"),
    ("propellant_used = 1000.0", "propellant_used = nan", "propellant_used", "nan", "finite"),
    ("propellant_used = 1000.0", f"propellant_used = {'9' * 400}", "propellant_used", "999",
     "finite"),
    ("propellant_used = 1000.0\n", "", "cases.one.propellant_used", "missing", "a finite number"),
    ("tolerance_share = 1e-05", "tolerance_share = 2", "cases.one", "2.0", "below 1"),
    ("tolerance_share = 1e-05", "tolerance_share = 0", "cases.one", "both 0", "positive"),
    ("tolerance_mass = 0.0", "tolerance_mass = true", "cases.one.tolerance_mass", "True",
     "a finite number"),
    ('verdict = "certified"', 'verdict = "fine"', "cases.one.verdict", "'fine'",
     "one of certified, unsettled, doubtful"),
    ('verdict = "certified"', "verdict = [1]", "cases.one.verdict", "[1]", "one of certified"),
    ('structure = "direct', 'structures = "direct', "cases.one.structures", "'direct insertion'",
     "left out"),
    ('structure = "direct insertion"', "structure = 3", "cases.one.structure", "3", "a text"),
    ("vehicle.payload_mass\" = 1000.0", "vehicle.payload_mass\" = 1979-05-27",
     "cases.one.inputs.vehicle.payload_mass", "datetime.date", "a finite number, a text"),
    ("vehicle.payload_mass\" = 1000.0", "vehicle.payload_mass\" = [1.0, \"a\"]",
     "cases.one.inputs.vehicle.payload_mass", "[1.0, 'a']", "a list of finite numbers"),
    ("vehicle.payload_mass\" = 0.4", "vehicle.payload_mass\" = \"dear\"",
     "cases.one.partials.vehicle.payload_mass", "'dear'", "a finite number"),
    ("[cases.one.partials]", "[cases.one.prices]", "cases.one.prices", "a table", "left out"),
    ("[cases.one]", '[cases."a\\n"]\n[cases.one]', "cases.'a\\n'", "a table", "can be printed"),
    ("version = 1", "version = 7", "version", "7", "1"),
    ("version = 1", "version = true", "version", "True", "1"),
    ('form = "ascent baseline"', 'form = "recipe"', "form", "'recipe'", "'ascent baseline'"),
    ("[cases.one]", "[cases.one", "no TOML", "line", "Restore"),
    ("version = 1", "<<<<<<< ours\nversion = 1", "no TOML", "line 5", "Restore"),
    ("version = 1", f"version = {'[' * 3000}", "no TOML", "", "Restore"),
    ("version = 1", "version = 1\ncases = 3", "no TOML", "", "Restore"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "value", "rule"), DAMAGES)
def test_a_damage_is_named(
    old: str, new: str, key: str, value: str, rule: str, tmp_path: Path
) -> None:
    told = damaged(tmp_path / "costs.toml", old, new)
    assert "costs.toml" in told
    for part in (key, value, rule):
        assert part in told
    assert "Restore " in told or "Give " in told


@SHARED_FOLDER
@given(data=st.data())
def test_whatever_is_damaged_only_our_error_comes_out(data: st.DataObject, tmp_path: Path) -> None:
    good = ao.Baseline({"one": case(inputs=NUMBERS), "two": case()}).text.encode()
    start = data.draw(st.integers(0, len(good) - 1))
    end = data.draw(st.integers(start, min(len(good), start + 40)))
    put = data.draw(st.one_of(st.binary(max_size=8), st.text(max_size=8).map(lambda t: t.encode(
        "utf-8", "replace"))))  # fmt: skip
    path = tmp_path / "costs.toml"
    path.write_bytes(good[:start] + put + good[end:])
    try:
        read = ao.Baseline.read(path)
    except ao.InputError as told:
        assert "costs.toml" in str(told)  # noqa: PT017
    else:
        assert ao.Baseline.read(path) == read


@SHARED_FOLDER
@given(junk=st.binary(max_size=60))
def test_a_file_of_anything_is_refused(junk: bytes, tmp_path: Path) -> None:
    (tmp_path / "costs.toml").write_bytes(junk)
    with pytest.raises(ao.InputError, match=r"costs\.toml"):
        ao.Baseline.read(tmp_path / "costs.toml")


def test_files_that_cannot_be(tmp_path: Path) -> None:
    baseline = ao.Baseline({"one": case()})
    with pytest.raises(ao.InputError, match="there is no such file"):
        ao.Baseline.read(tmp_path / "none.toml")
    with pytest.raises(ao.InputError, match="cannot be read"):
        ao.Baseline.read(tmp_path)
    with pytest.raises(ao.InputError, match="cannot be written"):
        baseline.write(tmp_path / "no" / "folder.toml")
    with pytest.raises(ao.InputError, match="is a folder"):
        baseline.write(tmp_path)
    for path in (3, None, ""):
        with pytest.raises(ao.InputError, match=r"path is .*; it must be"):
            baseline.write(path)  # type: ignore[arg-type]
    with pytest.raises(ao.InputError, match=r"cannot be read .*null"):
        ao.Baseline.read(tmp_path / "a\0b")
    for write in (baseline.write, lambda path: update_file(path, "one", brisk())):
        with pytest.raises(ao.InputError, match=r"cannot be written .*null"):
            write(tmp_path / "a\0b")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_another_holds_is_waited_for(tmp_path: Path) -> None:
    path = written(tmp_path / "costs.toml", one=case())
    refused = pytest.raises(ao.InputError, match=r"costs\.toml\.lock.*Delete it")
    with held(path), refused, held(path, 0.05):
        pass
    with held(path):
        pass
    assert [one.name for one in tmp_path.iterdir()] == ["costs.toml"]


WRITER = """
import sys
from ascentopt.baselines import update_file
from ascentopt import Ascent
ascent = Ascent.load(sys.argv[1])
for number in range(8):
    update_file(sys.argv[2], f"{sys.argv[3]} {number}", ascent)
"""


@pytest.mark.slow
def test_processes_that_change_one_file_lose_nothing(tmp_path: Path) -> None:
    brisk().save(tmp_path / "ascent.json")
    path = tmp_path / "costs.toml"
    given = [sys.executable, "-c", WRITER, str(tmp_path / "ascent.json"), str(path)]
    running = [subprocess.Popen([*given, name]) for name in "abcd"]
    assert [one.wait() for one in running] == [0] * 4
    assert len(ao.Baseline.read(path)) == 32

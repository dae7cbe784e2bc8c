"""The fixture within a test project, in this process."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import ascentopt as ao
from tests.baselines.ascents import brisk

ROOT = Path(__file__).parents[3]
PLUGIN = ROOT / "ascentopt" / "baselines" / "plugin"

HELD = """
from ascentopt import Ascent

def test_cost(ascent_baseline):
    ascent_baseline.check("brisk", Ascent.load("ascent.json"))
"""

MANY = """
import pytest
from ascentopt import Ascent

@pytest.mark.parametrize("number", range(12))
def test_cost(ascent_baseline, number):
    ascent_baseline.check(f"brisk {number}", Ascent.load("ascent.json"))
"""

UPDATE = "--ascent-baseline-update"


@pytest.fixture(scope="module", autouse=True)
def solved_before() -> None:
    """What is imported while a `pytester` lives is forgotten after, and NumPy loads but once."""
    brisk()
    brisk(1.01)


@pytest.fixture
def project(pytester: pytest.Pytester) -> pytest.Pytester:
    """A test that holds a saved ascent against its baseline; nothing is recorded yet."""
    pytester.makepyfile(test_costs=HELD)
    put(pytester, 1.0)
    return pytester


def put(project: pytest.Pytester, payload_factor: float) -> None:
    """The ascent that the project flies now."""
    brisk(payload_factor).save(project.path / "ascent.json")


def run(project: pytest.Pytester, *options: str) -> pytest.RunResult:
    return project.runpytest("-p", "ascentopt_pytest", "-p", "no:cacheprovider", *options)


@pytest.mark.exact(reason="a mass is told to ten digits as it was written")
def test_a_cost_is_recorded_held_explained_and_renewed(project: pytest.Pytester) -> None:
    recorded = run(project, UPDATE)
    recorded.assert_outcomes(passed=1)
    recorded.stdout.fnmatch_lines(
        ["*ascent baselines*", "recorded 'brisk' in ascent_baseline.toml"]
    )
    run(project).assert_outcomes(passed=1)
    put(project, 1.01)
    drifted = run(project)
    drifted.assert_outcomes(failed=1)
    drifted.stdout.fnmatch_lines(
        [
            "*brisk: +4.4? kg: vehicle.payload_mass 1000 -> 1010 kg predicts +4.4?, unexplained*",
            f"*If this is meant: pytest {UPDATE} 'test_costs.py::test_cost'*",
        ]
    )
    drifted.stdout.no_fnmatch_line("*ascentopt_pytest.py*")  # frames of ours are hidden
    renewed = run(project, UPDATE)
    renewed.assert_outcomes(passed=1)
    renewed.stdout.fnmatch_lines(["updated in ascent_baseline.toml, brisk: +4.4? kg:*"])
    run(project).assert_outcomes(passed=1)


def test_an_update_that_changes_nothing_says_nothing(project: pytest.Pytester) -> None:
    run(project, UPDATE)
    before = (project.path / "ascent_baseline.toml").read_bytes()
    again = run(project, UPDATE)
    again.stdout.no_fnmatch_line("*ascent baselines*")
    assert (project.path / "ascent_baseline.toml").read_bytes() == before


def test_a_case_that_is_missing_says_how_to_record_it(project: pytest.Pytester) -> None:
    result = run(project)
    result.assert_outcomes(failed=1)
    result.stdout.fnmatch_lines(
        [f"*'brisk' is not recorded in ascent_baseline.toml. To record it: pytest {UPDATE} *"]
    )
    assert not (project.path / "ascent_baseline.toml").exists()


def test_a_damaged_file_fails_with_what_is_wrong(project: pytest.Pytester) -> None:
    (project.path / "ascent_baseline.toml").write_text("<<<<<<< ours\n")
    for options in ((), (UPDATE,)):
        result = run(project, *options)
        result.assert_outcomes(failed=1)
        result.stdout.fnmatch_lines(["*ascent_baseline.toml*it is no TOML*"])


def test_a_change_within_the_tolerance_is_told(project: pytest.Pytester) -> None:
    project.makepyfile(
        test_costs=HELD.replace("import Ascent", "import Ascent, CostTolerance").replace(
            '.json")', '.json"), tolerance=CostTolerance(mass=50.0)'
        )
    )
    run(project, UPDATE)
    put(project, 1.01)
    result = run(project)
    result.assert_outcomes(passed=1)
    result.stdout.fnmatch_lines(["changed within its tolerance, brisk: +4.4? kg:*"])


def test_a_setting_names_one_file_for_all_tests(project: pytest.Pytester) -> None:
    project.makeini("[pytest]\nascent_baseline_file = data/costs.toml\n")
    (project.path / "data").mkdir()
    below = project.mkdir("below")
    (below / "test_more.py").write_text(HELD.replace('"brisk"', '"brisk again"'))
    run(project, UPDATE).assert_outcomes(passed=2)
    assert set(ao.Baseline.read(project.path / "data" / "costs.toml")) == {"brisk", "brisk again"}


def test_without_a_setting_the_file_lies_beside_the_tests(project: pytest.Pytester) -> None:
    below = project.mkdir("below")
    (below / "test_more.py").write_text(HELD)
    run(project, UPDATE).assert_outcomes(passed=2)
    assert (below / "ascent_baseline.toml").is_file()
    assert (project.path / "ascent_baseline.toml").is_file()


@pytest.mark.slow
def test_tests_on_several_processes_renew_one_file(
    project: pytest.Pytester, monkeypatch: pytest.MonkeyPatch
) -> None:
    project.makepyfile(test_costs=MANY)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(map(str, (ROOT, PLUGIN))))
    result = project.runpytest_subprocess(
        "-p", "ascentopt_pytest", "-p", "no:cacheprovider", UPDATE, "-n", "2"
    )
    result.assert_outcomes(passed=12)
    assert len(ao.Baseline.read(project.path / "ascent_baseline.toml")) == 12
    result.stdout.fnmatch_lines(["recorded 'brisk 11' in ascent_baseline.toml"])


def test_loading_the_plugin_loads_nothing_heavy() -> None:
    code = (
        f"import sys, pytest; sys.path.insert(0, {str(PLUGIN)!r}); before = set(sys.modules); "
        "import ascentopt_pytest; print(sorted(set(sys.modules) - before))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "['ascentopt_pytest']"

"""A project of somebody else's, with the wheel."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]

PROJECT = """
import os
from dataclasses import replace

import ascentopt as ao


def test_the_small_one(ascent_baseline):
    assert ao.__file__.startswith(os.environ["PYTHONPATH"])
    scenario = ao.scenarios()["moon-brisk"]
    payload = scenario.vehicle.payload_mass * {factor}
    vehicle = replace(scenario.vehicle, payload_mass=payload)
    ascent_baseline.check("small one", ao.optimize(vehicle, scenario.mission))
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder into which the wheel was installed."""
    pip, folder = [sys.executable, "-m", "pip"], tmp_path_factory.mktemp("installed")
    subprocess.run([*pip, "wheel", "-q", "--no-deps", "-w", folder / "wheel", ROOT], check=True)
    [wheel] = (folder / "wheel").glob("*.whl")
    target = folder / "site"
    subprocess.run([*pip, "install", "-q", "--no-deps", "--target", target, wheel], check=True)
    return target


def run(project: Path, site: Path, *options: str) -> tuple[int, str]:
    """Exit code and output of pytest, which finds the plugin by its entry point alone."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-W", "error", "-p", "no:cacheprovider", *options],
        cwd=project,
        env={**os.environ, "PYTHONPATH": str(site), "PYTHONDONTWRITEBYTECODE": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


@pytest.mark.slow
def test_the_fixture_passes_fails_with_the_reason_and_passes_renewed(
    tmp_path: Path, site: Path
) -> None:
    test = tmp_path / "test_costs.py"
    test.write_text(PROJECT.format(factor=1.0))
    assert run(tmp_path, site)[0] == 1  # nothing is recorded
    assert run(tmp_path, site, "--ascent-baseline-update")[0] == 0
    assert run(tmp_path, site)[0] == 0
    test.write_text(PROJECT.format(factor=1.01))
    code, told = run(tmp_path, site)
    assert code == 1
    assert "small one: +4.42 kg: vehicle.payload_mass 1000 -> 1010 kg predicts +4.42" in told
    code, told = run(tmp_path, site, "--ascent-baseline-update")
    assert code == 0
    assert "updated in ascent_baseline.toml, small one: +4.42 kg" in told
    assert run(tmp_path, site)[0] == 0
    left = {one.name for one in tmp_path.iterdir()} - {"__pycache__"}
    assert left == {"test_costs.py", "ascent_baseline.toml"}


@pytest.mark.slow
def test_runs_that_do_not_ask_load_no_solver(tmp_path: Path, site: Path) -> None:
    (tmp_path / "test_other.py").write_text(
        "import sys\n\n\ndef test_it():\n"
        "    assert 'ascentopt_pytest' in sys.modules\n"
        "    assert not {'ascentopt', 'casadi', 'numpy'} & set(sys.modules)\n"
    )
    code, told = run(tmp_path, site)
    assert code == 0, told

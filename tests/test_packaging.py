"""What a user gets with the package: a light import, honest dependencies, commands that work."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = [
    text
    for name, texts in PROJECT["optional-dependencies"].items()
    if name not in {"test", "docs"}
    for text in texts
]
"""What a user may install beside, and the package imports only where it is asked for."""

# Each costs a noticeable part of a second to import, and no description of a rocket needs one.
HEAVY = (
    "matplotlib",
    "pandas",
    "scipy.integrate",
    "scipy.interpolate",
    "scipy.linalg",
    "scipy.optimize",
    "scipy.sparse",
    "scipy.spatial",
    "scipy.special",
    "scipy.stats",
)


def heavy_modules_after(statement: str) -> list[str]:
    """Which of the heavy packages a fresh interpreter has loaded after one statement."""
    code = f"import sys; {statement}; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    heavy: list[str] = ast.literal_eval(done.stdout)
    return heavy


def test_importing_the_package_loads_nothing_heavy() -> None:
    assert heavy_modules_after("import ascentopt") == []


def test_a_heavy_import_would_be_seen() -> None:
    assert "scipy.integrate" in heavy_modules_after("import scipy.integrate")
    assert "matplotlib" in heavy_modules_after("import matplotlib.figure")


def imported_distributions(folder: Path, but: Path | None = None) -> set[str]:
    """Top-level names that the modules below a folder import from outside the standard library."""
    names: set[str] = set()
    for path in folder.rglob("*.py"):
        if but is not None and path.is_relative_to(but):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module.split(".")[0])
    return names - set(sys.stdlib_module_names) - {"ascentopt"}


def declared(requirements: list[str]) -> set[str]:
    """Names of the required packages, without versions."""
    return {text.split(">")[0].split("~")[0].strip() for text in requirements}


def test_everything_imported_is_declared() -> None:
    plugin = ROOT / "ascentopt" / "baselines" / "plugin"
    assert imported_distributions(plugin) == {"pytest"}  # which is who loads it
    imported = imported_distributions(ROOT / "ascentopt", but=plugin)
    assert "casadi" in imported
    assert imported <= declared(PROJECT["dependencies"] + EXTRAS)


def test_extras_are_tested() -> None:
    extras = PROJECT["optional-dependencies"]
    assert "tqdm" in declared(extras["progress"])
    assert set(extras["progress"]) <= set(extras["test"])


def least_versions(*arguments: str) -> subprocess.CompletedProcess[str]:
    script = [sys.executable, str(ROOT / ".ci" / "least_versions.py"), *arguments]
    return subprocess.run(script, capture_output=True, text=True, check=False)


def test_every_dependency_has_a_least_version_for_ci_to_install() -> None:
    done = least_versions(str(ROOT / "pyproject.toml"), "--tools", "pytest")
    *pinned, tool = done.stdout.splitlines()
    assert [one.partition("==")[0] for one in pinned] == [
        one.partition(">=")[0] for one in PROJECT["dependencies"]
    ]
    assert tool.startswith("pytest>=")


@pytest.mark.parametrize("requirement", ["numpy", "numpy<3", "numpy>=1.23,<3", "numpy==1.23"])
def test_a_dependency_without_a_least_version_stops_ci(tmp_path: Path, requirement: str) -> None:
    (tmp_path / "pyproject.toml").write_text(f"[project]\ndependencies = ['{requirement}']\n")
    done = least_versions(str(tmp_path / "pyproject.toml"))
    assert done.returncode != 0
    assert "a least version and no more" in done.stderr


def test_everything_the_tests_import_is_declared() -> None:
    available = PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]
    imported = imported_distributions(ROOT / "tests")
    assert "hypothesis" in imported
    assert imported - {"tests", "benchmarks", "examples"} <= declared(available)


def test_the_package_is_marked_as_typed() -> None:
    assert (ROOT / "ascentopt" / "py.typed").is_file()


def readme_command(tmp_path: Path, text: str, mark: str) -> subprocess.CompletedProcess[str]:
    """Run the extraction of a README command on a text."""
    readme = tmp_path / "README.md"
    readme.write_text(text)
    script = ROOT / ".ci" / "readme_command.py"
    return subprocess.run(
        [sys.executable, str(script), str(readme), mark],
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_marked_command_is_what_ci_runs(tmp_path: Path) -> None:
    text = "Intro\n\n```sh\nno\n```\n<!-- run -->\n```sh\necho a && echo b\n```\n\n```sh\nc\n```\n"
    assert readme_command(tmp_path, text, "run").stdout == "echo a && echo b\n"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("nothing here", "0 sh blocks stand under <!-- run -->"),
        ("<!-- run -->\n\ntext\n\n```sh\na\n```\n", "0 sh blocks"),
        ("<!-- run -->\n```sh\na\n```\n<!-- run -->\n```sh\nb\n```\n", "2 sh blocks"),
        ("<!-- run -->\n```sh\na\nb\n```\n", "is not one line"),
    ],
)
def test_a_readme_without_one_marked_line_stops_ci(tmp_path: Path, text: str, reason: str) -> None:
    done = readme_command(tmp_path, text, "run")
    assert done.returncode != 0
    assert reason in done.stderr


@pytest.mark.parametrize("mark", ["run", "test"])
def test_the_readme_has_both_commands(tmp_path: Path, mark: str) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert ".venv/bin/p" in readme_command(tmp_path, text, mark).stdout

"""pytest's side of cost baselines: the fixture `ascent_baseline` and `--ascent-baseline-update`.

Every run of pytest loads this module wherever the library is installed, so it is installed beside
the package and not in it, and imports the library only when a test asks for the fixture.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from ascentopt.baselines.tolerance import CostTolerance
    from ascentopt.optimal.result.ascent import Ascent

FILE_NAME = "ascent_baseline.toml"
UPDATE, INI, TOLD = "--ascent-baseline-update", "ascent_baseline_file", "ascent_baseline"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option, and the setting of the configuration file."""
    text = "record what ascents cost now, in place of holding it against what is recorded"
    parser.getgroup("ascentopt").addoption(UPDATE, action="store_true", default=False, help=text)
    parser.addini(
        INI,
        f"one baseline file for all tests, from the root folder; default: a {FILE_NAME} beside "
        "each file of tests, which does not hang on how pytest is called",
        type="string",
        default="",
    )


@pytest.fixture
def ascent_baseline(request: pytest.FixtureRequest) -> AscentBaseline:
    """Recorded costs of ascents: `ascent_baseline.check("name", ascent)`."""
    return AscentBaseline(
        path=_file_of(request), update=bool(request.config.getoption(UPDATE)), test=request.node
    )


def _file_of(request: pytest.FixtureRequest) -> Path:
    named = str(request.config.getini(INI))
    return request.config.rootpath / named if named else request.path.with_name(FILE_NAME)


@dataclass(frozen=True)
class AscentBaseline:
    """The baseline file of a test.

    Attributes:
        path: of the file.
        update: whether costs are recorded, and not held against what is recorded.
        test: that asks.
    """

    path: Path
    update: bool
    test: pytest.Item

    def check(self, name: str, ascent: Ascent, *, tolerance: CostTolerance | None = None) -> None:
        """Fail the test unless the ascent costs what is recorded under this name.

        With `--ascent-baseline-update` it is recorded instead. A tolerance given here counts
        before that of the file, and is recorded.
        """
        __tracebackhide__ = True
        from ascentopt.errors import InputError

        act = self._update if self.update else self._check
        try:
            failure = act(name, ascent, tolerance)
        except InputError as fault:
            failure = str(fault)
        if failure:
            pytest.fail(failure)

    def _check(self, name: str, ascent: Ascent, tolerance: CostTolerance | None) -> str:
        """What fails the test; nothing where it agrees."""
        from ascentopt.baselines.baseline import Baseline

        recorded = Baseline.read(self.path) if self.path.exists() else Baseline()
        again = f"pytest {UPDATE} {self.test.nodeid!r}"
        if name not in recorded:
            return f"{name!r} is not recorded in {self._file}. To record it: {again}"
        checked = recorded.check(name, ascent, tolerance=tolerance)
        if not checked:
            return f"{checked}\nrecorded in {self._file}. If this is meant: {again}"
        if not checked.is_as_recorded:
            self._tell(f"changed within its tolerance, {checked}")
        return ""

    def _update(self, name: str, ascent: Ascent, tolerance: CostTolerance | None) -> str:
        from ascentopt.baselines.baseline import update_file

        checked = update_file(self.path, name, ascent, tolerance=tolerance)
        if checked is None:
            self._tell(f"recorded {name!r} in {self._file}")
        elif not checked.is_as_recorded:
            self._tell(f"updated in {self._file}, {checked}")
        return ""

    @property
    def _file(self) -> Path:
        """As it is told."""
        root = self.test.config.rootpath
        return self.path.relative_to(root) if self.path.is_relative_to(root) else self.path

    def _tell(self, text: str) -> None:
        """Keep it with the test's report, which comes from other processes too."""
        self.test.user_properties.append((TOLD, text))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say what was recorded, and what has changed without failing."""
    told = list(_told(terminalreporter.stats))
    if told:
        terminalreporter.section("ascent baselines")
        for text in told:
            terminalreporter.line(text)


def _told(stats: dict[str, list[Any]]) -> Iterator[str]:
    for report in (report for reports in stats.values() for report in reports):
        if getattr(report, "when", "") == "call":
            yield from (text for key, text in report.user_properties if key == TOLD)

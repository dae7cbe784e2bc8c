"""What is kept of a scenario: one line for each rule, and the circumstances."""

from __future__ import annotations

import json
import platform
from dataclasses import asdict, dataclass, fields
from datetime import date
from importlib.metadata import version
from pathlib import Path

import ascentopt as ao
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.studies.comparison.outcome import RuleOutcome


@dataclass(frozen=True, kw_only=True)
class Line:
    """One rule, one insertion, by habit or tuned; kg and SI, None without an orbit."""

    rule: str
    insertion: str
    tuned: bool
    parameters: str
    propellant: float | None
    penalty: float | None
    broken: str
    remark: str

    @classmethod
    def of(cls, outcome: RuleOutcome) -> Line:
        """Of an outcome of a comparison."""
        return cls(
            rule=outcome.rule,
            insertion=outcome.insertion,
            tuned=outcome.tuned,
            parameters=", ".join(map(str, outcome.parameters)),
            propellant=outcome.propellant_used,
            penalty=outcome.penalty,
            broken="; ".join(map(str, outcome.broken)),
            remark=outcome.remark,
        )


@dataclass(frozen=True, kw_only=True)
class Record:
    """A scenario that was run.

    Args:
        scenario: its name.
        title: vehicle and orbit.
        thrust_to_weight: at lift-off.
        verdict: of the optimum's certificate, and what is beyond its threshold.
        optimum, margin: propellant used and left by the optimum, kg; None without one.
        lines: one for each rule, insertion, habit or tuning.
        failure: why there is no comparison; empty when there is one.
        seconds: of processor time.
        day, versions: when and with what it was run.
    """

    scenario: str
    title: str
    thrust_to_weight: float
    verdict: str
    optimum: float | None
    margin: float | None
    lines: tuple[Line, ...]
    failure: str
    seconds: float
    day: str
    versions: str

    def save(self, folder: Path) -> None:
        """Write it in one go."""
        folder.mkdir(parents=True, exist_ok=True)
        target = folder / f"{self.scenario}.json"
        beside = target.with_suffix(".part")
        beside.write_text(json.dumps(asdict(self), indent=1), encoding="utf-8")
        beside.replace(target)

    @classmethod
    def load(cls, folder: Path, scenario: str) -> Record | None:
        """Read what `save` wrote; None where there is nothing."""
        file = folder / f"{scenario}.json"
        if not file.exists():
            return None
        data = json.loads(file.read_text(encoding="utf-8"))
        lines = tuple(Line(**line) for line in data.pop("lines"))
        return cls(lines=lines, **{f.name: data[f.name] for f in fields(cls) if f.name in data})


def verdict_text(certificate: Certificate) -> str:
    """Its word, and what is beyond its threshold."""
    beyond = ", ".join(name.replace("_", " ") for name in certificate.beyond())
    return certificate.verdict.name.lower() + (f" ({beyond})" if beyond else "")


def per_cent(penalty: float | None, optimum: float | None) -> float | None:
    """Propellant beyond the optimum's, in per cent of it; None without an orbit or an optimum."""
    return 100.0 * penalty / optimum if penalty is not None and optimum else None


def today() -> str:
    """The date, as the table shows it."""
    return date.today().isoformat()  # noqa: DTZ011 - the day on the wall of who runs it


def versions() -> str:
    """Of what decides the numbers."""
    return (
        f"ascentopt {ao.__version__}, CasADi {version('casadi')}, NumPy {version('numpy')}, "
        f"Python {platform.python_version()}"
    )

"""The optima that rules are measured by: a file to cite, each line with where it comes from."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import ascentopt as ao
from ascentopt import persistence
from ascentopt.baselines.inputs import inputs_of, is_same
from ascentopt.scenarios import Scenario
from benchmarks.heuristics.record import today, verdict_text, versions

FILE = Path(__file__).with_name("OPTIMA.json")

_FORM, _VERSION = "optima of the scenarios", 1
_ABOUT = (
    "Least-propellant ascents of invented vehicles. SI units, kg and s. propellant_used and "
    "propellant_margin are what rules of thumb are measured by; verdict is the certificate's, see "
    "README. flown is the vehicle without stages that the optimum leaves unlit. Vehicle and "
    "mission are written out by field, as ascentopt.persistence.decode reads them. Written by "
    "python -m benchmarks.heuristics --optima. Preliminary analysis only."
)


@dataclass(frozen=True, kw_only=True)
class Optimum:
    """The best ascent of a scenario.

    Args:
        scenario: its name.
        structure: burns and coasts.
        propellant_used, propellant_margin, final_mass: kg; the margin is beyond the reserve.
        flight_time: s to insertion.
        verdict: of the certificate, and what is beyond its threshold.
        library: version of it, and of what decides the numbers.
        commit: of the library.
        day: when it was solved.
        vehicle, mission: that were solved for.
        flown: the vehicle without stages that stay unlit.
    """

    scenario: str
    structure: str
    propellant_used: float
    propellant_margin: float
    final_mass: float
    flight_time: float
    verdict: str
    library: str
    commit: str
    day: str
    vehicle: ao.Vehicle
    mission: ao.Mission
    flown: ao.Vehicle


def solved(scenario: Scenario) -> Optimum:
    """Solve for it. Raises `InfeasibleAscent` where nothing flies."""
    ascent = ao.optimize(scenario.vehicle, scenario.mission)
    return Optimum(
        scenario=scenario.name,
        structure=str(ascent.plan),
        propellant_used=ascent.propellant_used,
        propellant_margin=ascent.propellant_margin,
        final_mass=ascent.final_mass,
        flight_time=ascent.flight_time,
        verdict=verdict_text(ascent.certificate),
        library=versions(),
        commit=commit(),
        day=today(),
        vehicle=scenario.vehicle,
        mission=scenario.mission,
        flown=ascent.flown_vehicle,
    )


def save(optima: Iterable[Optimum], path: Path = FILE) -> None:
    """Write them, one to a line."""
    lines = [json.dumps({f.name: _encoded(one, f.name) for f in fields(one)}) for one in optima]
    head = json.dumps({"form": _FORM, "version": _VERSION, "about": _ABOUT})[:-1]
    text = head + ', "optima": [\n' + ",\n".join(lines) + "\n]}\n"
    path.write_text(text, encoding="utf-8")


def load(path: Path = FILE) -> dict[str, Optimum]:
    """By name of the scenario. Raises `InputError` for another file."""
    data = persistence.saved(path, "optima", _FORM, (_VERSION,), unsigned=(_VERSION,))
    found = [_decoded(one) for one in data["optima"]]
    return {one.scenario: one for one in found}


def optimum_of(scenario: Scenario, optima: dict[str, Optimum]) -> Optimum:
    """The one on record. Raises `InputError` where there is none, or one of another description."""
    found = optima.get(scenario.name)
    if found is None or not _is_of(found, scenario):
        what = "is of another vehicle or mission" if found else "is missing"
        raise ao.InputError(
            f"optima: that of {scenario.name!r} {what}; each scenario must have one of its own. "
            "Write the file again: python -m benchmarks.heuristics --optima."
        )
    return found


def _is_of(one: Optimum, scenario: Scenario) -> bool:
    """Whether it is of the scenario, the tables of which another processor rounds otherwise."""
    told, asked = (inputs_of(each.vehicle, each.mission) for each in (one, scenario))
    return told.keys() == asked.keys() and all(is_same(told[name], asked[name]) for name in told)


def _encoded(one: Optimum, name: str) -> Any:
    return persistence.encode(getattr(one, name))


def _decoded(data: dict[str, Any]) -> Optimum:
    return Optimum(**{name: persistence.decode(value) for name, value in data.items()})


def commit() -> str:
    """Of the working tree; says so when it holds changes of the package that are not committed."""

    def git(*words: str) -> str:
        found = subprocess.run(
            ("git", *words), cwd=FILE.parent, capture_output=True, text=True, check=True
        )
        return found.stdout.strip()

    changed = git("status", "--porcelain", "--", ":/ascentopt")
    return git("rev-parse", "HEAD") + (" with changes" if changed else "")

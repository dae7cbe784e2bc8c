"""Costs on record, held against new ones: `ascentopt baseline ...`."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from ascentopt.baselines import Baseline, BaselineCheck, update_file
from ascentopt.command.answer import Answer
from ascentopt.command.asked import ascent_of, name_of
from ascentopt.command.exit_code import ExitCode
from ascentopt.errors import InfeasibleAscent, InputError


def check(asked: Namespace) -> Answer:
    """Whether ascents cost what the baseline has; else why not, and exit code 4.

    One that flies no more keeps none of the others from being looked at.
    """
    baseline, cases = Baseline.read(asked.baseline), _cases(asked)
    for name in cases:
        baseline[name]  # refused now, and not after an hour of solving
    found = [_held(baseline, name, file, asked.time_limit) for name, file in cases.items()]
    codes = {one.code for one in found}
    worst = (code for code in (ExitCode.NO_ASCENT, ExitCode.DRIFTED) if code in codes)
    return Answer(
        text="\n".join(one.text for one in found),
        data={"cases": [one.data for one in found]},
        code=next(worst, ExitCode.DONE),
    )


def _held(baseline: Baseline, name: str, file: str, time_limit: float | None) -> Answer:
    """One case beside what is recorded of it."""
    try:
        one = baseline.check(name, ascent_of(file, time_limit))
    except InfeasibleAscent as refusal:
        told = {"name": name, "agrees": False, "text": str(refusal)}
        return Answer(text=f"{name}: {refusal}", data=told, code=ExitCode.NO_ASCENT)
    code = ExitCode.DONE if one else ExitCode.DRIFTED
    return Answer(text=str(one), data=_told(one), code=code)


def record(asked: Namespace) -> Answer:
    """Put new cases on record; the baseline is made where it is not there."""
    cases = _cases(asked)
    known = Baseline.read(asked.baseline) if Path(asked.baseline).exists() else Baseline()
    if old := [name for name in cases if name in known]:
        raise InputError(
            f"{asked.baseline} has {', '.join(map(repr, old))}; a case must be new. Use "
            "`ascentopt baseline update`."
        )
    return _written(asked, cases)


def update(asked: Namespace) -> Answer:
    """Put on record what cases cost now; those that agree stay as they are."""
    return _written(asked, _cases(asked))


def _written(asked: Namespace, cases: dict[str, str]) -> Answer:
    lines, data = [], []
    for name, file in cases.items():
        found = update_file(asked.baseline, name, ascent_of(file, asked.time_limit))
        lines.append(f"{name}: recorded" if found is None else str(found))
        data.append({"name": name} if found is None else _told(found))
    return Answer(text="\n".join(lines), data={"cases": data}, files=(asked.baseline,))


def _cases(asked: Namespace) -> dict[str, str]:
    """The files by the names of their cases."""
    cases: dict[str, str] = {}
    for file in asked.files:
        name = name_of(file)
        if name in cases:
            raise InputError(
                f"{file} is of the name {name!r}, as is {cases[name]}; cases must differ in their "
                "names. Rename one."
            )
        cases[name] = file
    return cases


def _told(one: BaselineCheck) -> dict[str, Any]:
    return {
        "name": one.name,
        "agrees": one.agrees,
        "recorded": one.recorded.propellant_used,
        "propellant_used": one.found.propellant_used,
        "difference": one.difference,
        "allowed": one.allowed,
        "predicted": one.predicted,
        "unexplained": one.unexplained,
        "structure_changed": one.structure_changed,
        "verdict": one.found.verdict,
        "text": str(one),
    }

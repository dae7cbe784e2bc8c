"""A user's own rule flown over all scenarios, its column beside those of the published table."""

from __future__ import annotations

import csv
import importlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import ascentopt as ao
from ascentopt.rules.evaluate.check_rule import check_rule
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.scenarios import Scenario
from ascentopt.studies.comparison.compare import rule_outcomes
from benchmarks.heuristics.optima import Optimum, optimum_of
from benchmarks.heuristics.record import Line, per_cent
from benchmarks.heuristics.table import FLOWN, SHORT, cell

PUBLISHED = Path(__file__).with_name("RESULTS.csv")

Progress = Callable[[Scenario, tuple[Line, ...]], None]


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A tuned rule with an insertion on a scenario.

    Args:
        percent: propellant beyond the optimum, per cent of what that uses; None without an orbit.
        kept: whether it keeps all limits of the mission.
    """

    percent: float | None
    kept: bool

    def __str__(self) -> str:
        return cell(self.percent, kept=self.kept)


Column = dict[str, Cell]
"""By name of the scenario."""


def rule_named(path: str) -> ao.Rule:
    """The rule at `package.module:Name`: a class that takes no arguments, or a rule.

    It is imported: give what you trust. Raises `InputError` where there is no such rule.
    """
    module, _, name = path.partition(":")
    if not module or not name:
        raise ao.InputError(
            f"--rule: given is {path!r}; it must be package.module:Name. Give the module, a colon, "
            "and the class or rule in it."
        )
    try:
        found = getattr(importlib.import_module(module), name)
    except (ImportError, AttributeError) as fault:
        raise ao.InputError(
            f"--rule: {path!r} is not found ({fault}); its module must be importable from this "
            "folder. Start in the folder that holds it, or set PYTHONPATH."
        ) from fault
    rule = found() if isinstance(found, type) else found
    check_rule(rule)
    assert isinstance(rule, ao.Rule)
    return rule


def flown_lines(rule: ao.Rule, scenario: Scenario, optimum: Optimum) -> tuple[Line, ...]:
    """By habit, if it has one, and tuned, with each insertion; what the simulator makes of it."""
    flights = [
        RuleFlight(vehicle=optimum.flown, mission=scenario.mission, rule=rule, insertion=insertion)
        for insertion in (ao.Circularise(), ao.LinearTangentInsertion())
    ]
    for flight in flights:
        flight.check_begins()
    return tuple(Line.of(one) for flight in flights for one in rule_outcomes(flight, optimum))


def fly_over(
    rule: ao.Rule,
    scenarios: Iterable[Scenario],
    optima: dict[str, Optimum],
    progress: Progress = lambda scenario, lines: None,
) -> dict[str, Column]:
    """Columns of a rule, by insertion."""
    columns: dict[str, Column] = {}
    known = [(scenario, optimum_of(scenario, optima)) for scenario in scenarios]
    for scenario, optimum in known:
        lines = flown_lines(rule, scenario, optimum)
        progress(scenario, lines)
        for line in lines:
            if line.tuned:
                percent = per_cent(line.penalty, optimum.propellant_used)
                made = Cell(percent=percent, kept=not line.broken)
                columns.setdefault(line.insertion, {})[scenario.name] = made
    return columns


def published(path: Path = PUBLISHED) -> dict[tuple[str, str], Column]:
    """Columns of the published table, tuned, by rule and insertion."""
    columns: dict[tuple[str, str], Column] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["tuned"] == "True":
                percent = float(row["penalty_percent"]) if row["penalty_percent"] else None
                made = Cell(percent=percent, kept=not row["broken"])
                key = row["rule"], row["insertion"]
                columns.setdefault(key, {})[row["scenario"]] = made
    return columns


def scoreboard(rule: ao.Rule, own: dict[str, Column], names: Iterable[str]) -> str:
    """A table in Markdown: scenarios by columns, the rule's own first; sums below."""
    columns = {f"**{rule.name}**, {SHORT[insertion]}": column for insertion, column in own.items()}
    for (name, insertion), column in published().items():
        columns[f"{SHORT[name]}, {SHORT[insertion]}"] = column
    listed = list(names)
    absent = Cell(percent=None, kept=True)
    rows = [
        [name, *(str(column.get(name, absent)) for column in columns.values())] for name in listed
    ]
    rows += [
        ["flown", *(_share(column, listed, _flown) for column in columns.values())],
        ["flown within limits", *(_share(column, listed, _counts) for column in columns.values())],
        ["median of these, %", *(_median(column, listed) for column in columns.values())],
    ]
    heads = ["tuned, % beyond the optimum", *columns]
    lines = [f"| {' | '.join(row)} |" for row in [heads, ["---"] * len(heads), *rows]]
    return "\n".join([*lines, "", FLOWN])


def _flown(cell: Cell) -> bool:
    return cell.percent is not None


def _counts(cell: Cell) -> bool:
    return cell.percent is not None and cell.kept


def _share(column: Column, names: list[str], counts: Callable[[Cell], bool]) -> str:
    count = sum(counts(column[name]) for name in names if name in column)
    return f"{count} of {len(names)}"


def _median(column: Column, names: list[str]) -> str:
    found = [column[name] for name in names if name in column]
    counted = [one.percent for one in found if one.percent is not None and one.kept]
    return f"{median(counted):.3f}" if counted else "-"

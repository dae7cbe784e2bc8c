"""One table of penalties, for people (Markdown) and for programs (CSV)."""

from __future__ import annotations

import csv
import io

from benchmarks.heuristics.record import Line, Record, per_cent

BETTER = 1e-4
"""Part of the propellant by which a rule may seem cheaper than the optimum: rounding and meshes."""

_RULES = (
    "gravity turn from a kick",
    "flight-path angle at an altitude",
    "constant pitch rate",
)
_INSERTIONS = ("coast and circularise", "linear tangent")
_FIELDS = (
    "scenario", "title", "thrust_to_weight", "verdict", "optimum", "margin", "rule", "insertion",
    "tuned", "parameters", "propellant", "penalty", "penalty_percent", "broken", "remark",
    "failure", "day", "versions",
)  # fmt: skip


def markdown(records: tuple[Record, ...]) -> str:
    """The whole page."""
    parts = [
        _HEAD.format(days=_all(r.day for r in records), with_=_all(r.versions for r in records))
    ]
    parts += ["\n".join(_penalties(records)), "\n".join(_scenarios(records))]
    parts += [_listed("Rules that cost less than the optimum", suspects(records))]
    parts += [
        _listed(
            "Scenarios that failed", [f"{r.scenario}: {r.failure}" for r in records if r.failure]
        )
    ]
    parts += [_listed("Why there is no orbit", _reasons(records))]
    return "\n\n".join(parts) + "\n"


def as_csv(records: tuple[Record, ...]) -> str:
    """A row for each line of each record, and one for each record without lines."""
    text = io.StringIO()
    writer = csv.DictWriter(text, _FIELDS, lineterminator="\n")
    writer.writeheader()
    for record in records:
        own = {name: getattr(record, name) for name in _FIELDS if hasattr(record, name)}
        for line in record.lines or (None,):
            writer.writerow({**own, **_columns(record, line)})
    return text.getvalue()


def suspects(records: tuple[Record, ...]) -> list[str]:
    """Lines that keep all limits and cost less than the optimum by more than rounding."""
    return [
        f"{record.scenario}: {line.rule}, {line.insertion}: {line.penalty:.2f} kg"
        for record in records
        for line in record.lines
        if line.penalty is not None and record.optimum is not None and not line.broken
        and line.penalty < -BETTER * record.optimum
    ]  # fmt: skip


def _columns(record: Record, line: Line | None) -> dict[str, object]:
    if line is None:
        return {}
    beyond = per_cent(line.penalty, record.optimum)
    percent = None if beyond is None else f"{beyond:.5f}"
    names = (
        "rule",
        "insertion",
        "tuned",
        "parameters",
        "propellant",
        "penalty",
        "broken",
        "remark",
    )
    return {**{name: getattr(line, name) for name in names}, "penalty_percent": percent}


def _penalties(records: tuple[Record, ...]) -> list[str]:
    heads = [f"{SHORT[rule]}, {SHORT[insertion]}" for rule in _RULES for insertion in _INSERTIONS]
    lines = [f"| scenario | {' | '.join(heads)} |", "|---" * (len(heads) + 1) + "|"]
    for record in records:
        cells = [_cell(record, rule, insertion) for rule in _RULES for insertion in _INSERTIONS]
        lines.append(f"| {record.scenario} | {' | '.join(cells)} |")
    return lines


def _cell(record: Record, rule: str, insertion: str) -> str:
    """By habit / tuned."""
    found = {
        line.tuned: _share(record, line)
        for line in record.lines
        if (line.rule, line.insertion) == (rule, insertion)
    }
    return f"{found.get(False, '-')} / {found.get(True, '-')}"


def _share(record: Record, line: Line) -> str:
    return cell(per_cent(line.penalty, record.optimum), kept=not line.broken)


def cell(percent: float | None, *, kept: bool) -> str:
    """Propellant beyond the optimum's, in per cent of it; None without an orbit."""
    return "-" if percent is None else f"{percent:.3f}" + ("" if kept else "!")


def _scenarios(records: tuple[Record, ...]) -> list[str]:
    heads = "scenario | vehicle, orbit, limits | thrust/weight | optimum kg | left kg | certificate"
    lines = [f"| {heads} | CPU s |", "|---|---|---|---|---|---|---|"]
    for r in records:
        kilograms = [_kg(r.optimum), _kg(r.margin)]
        cells = [
            r.scenario,
            r.title,
            f"{r.thrust_to_weight:.2f}",
            *kilograms,
            r.verdict or "failed",
        ]
        lines.append(f"| {' | '.join(cells)} | {r.seconds:.0f} |")
    return lines


def _reasons(records: tuple[Record, ...]) -> list[str]:
    return [
        f"{record.scenario}: {line.rule}, {line.insertion}, "
        f"{'tuned' if line.tuned else 'by habit'}: {line.remark}"
        for record in records
        for line in record.lines
        if line.penalty is None
    ]


def _listed(title: str, entries: list[str]) -> str:
    return f"## {title}\n\n" + ("\n".join(f"- {entry}" for entry in entries) or "None.")


def _kg(value: float | None) -> str:
    return "-" if value is None else f"{value:.1f}"


def _all(values: object) -> str:
    return "; ".join(sorted(set(values)))  # type: ignore[call-overload]


SHORT = {
    "gravity turn from a kick": "kick",
    "flight-path angle at an altitude": "angle at altitude",
    "constant pitch rate": "pitch rate",
    "coast and circularise": "circularise",
    "linear tangent": "linear tangent",
}
FLOWN = (
    "A dash is a flight that does not reach the orbit; `!` marks one that breaks a limit of the "
    "mission and does not count."
)
_HEAD = """# What the habit costs

Run on {days} by `python -m benchmarks.heuristics` with {with_}.
Nothing is drawn at random, so there are no seeds. Vehicles and pads are invented.

Each cell holds the propellant beyond the optimum's, by habit / tuned, in per cent of what the
optimum uses. A dash is a flight that does not reach the orbit (the reasons stand below); `!` marks
one that breaks a limit of the mission and does not count. `RESULTS.csv` has the kilograms."""

"""The survey's table: what a reader sees first, then every failure with its seed."""

from __future__ import annotations

import csv
import io
import statistics
from collections.abc import Sequence
from dataclasses import fields

from benchmarks.survey.outcome import Check, Outcome, Row

_CSV_COLUMNS = [f.name for f in fields(Row)]


def markdown(rows: Sequence[Row], title: str) -> str:
    """The summary and the failures as Markdown."""
    lines = [f"# {title}", "", f"{len(rows)} cases, seeds {_seeds(rows)}.", ""]
    lines += ["| | |", "|---|---:|"]
    lines += [f"| {name} | {value} |" for name, value in summary(rows).items()]
    lines += ["", "## Failures", ""]
    failures = [row for row in rows if not row.good]
    if not failures:
        lines.append("None.")
        return "\n".join(lines) + "\n"
    lines += ["| seed | outcome | check | case | s | message |", "|---:|---|---|---|---:|---|"]
    lines += [_failure(row) for row in failures]
    lines += ["", "Run one again: `python -m benchmarks.survey --case SEED`."]
    return "\n".join(lines) + "\n"


def summary(rows: Sequence[Row]) -> dict[str, str]:
    """Names and values of the summary, in order."""
    solved = [row for row in rows if row.outcome is Outcome.CERTIFIED]
    certified = [row for row in solved if not row.wrongly_accepted]
    refused = [row for row in rows if row.outcome is Outcome.REFUSED]
    can_fly = [row for row in rows if not _rightly_refused(row) and not row.wrongly_accepted]
    counts = {
        "solved with certificate": len(certified),
        "solved without certificate": _count(rows, Outcome.UNCERTIFIED),
        "refused with a number": len(refused),
        "- proved by the impulsive bound": _checked(refused, Check.PROVED),
        "- stood a search for a flight": _checked(refused, Check.SEARCHED),
        "- not checked": _checked(refused, Check.NONE),
        "wrongly refused (any refusal, a flight was found)": sum(r.wrongly_refused for r in rows),
        "refused with an overstated number (a flight misses by less)": sum(
            row.overstated and not row.wrongly_refused for row in rows
        ),
        "wrongly accepted": sum(row.wrongly_accepted for row in rows),
        "unexplained": sum(row.unexplained for row in rows),
    }
    table = {name: str(count) for name, count in counts.items()}
    share = 100.0 * len(certified) / len(can_fly) if can_fly else 100.0
    table["certified share of what may fly"] = f"{share:.1f} %"
    return table | _times(rows) | _iterations(solved)


def as_csv(rows: Sequence[Row]) -> str:
    """All rows, all columns."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_CSV_COLUMNS)
    for row in rows:
        values = {name: getattr(row, name) for name in _CSV_COLUMNS}
        values |= {"outcome": row.outcome.value, "check": row.check.value}
        values |= {"numbers": dict(row.numbers), "candidates": " | ".join(row.candidates)}
        writer.writerow([values[name] for name in _CSV_COLUMNS])
    return text.getvalue()


def story(row: Row) -> str:
    """All there is to say about one case."""
    lines = [
        f"case {row.seed}: {row.label}",
        f"  {row.outcome.value} in {row.seconds:.2f} s; {row.check.value}. {row.check_detail}",
        f"  ideal delta-v {row.ideal_delta_v:.0f} m/s, impulsive bound {row.bound:.0f} m/s",
    ]
    if row.shortfall is not None:
        lines.append(f"  short by {row.shortfall:.1f} m/s")
    if row.propellant_used is not None:
        lines.append(f"  propellant used {row.propellant_used:.3f} kg, certificate: {row.verdict}")
    if row.iterations is not None:
        lines.append(f"  {row.iterations} iterations")
    lines += [f"  {name} = {value:.4g}" for name, value in row.numbers.items()]
    lines += [f"  candidate: {line}" for line in row.candidates]
    lines += [f"  | {line}" for line in row.message.splitlines()]
    return "\n".join(lines)


def _rightly_refused(row: Row) -> bool:
    """Refused, and no second way objects: counted as unable to fly."""
    return row.outcome is Outcome.REFUSED and not row.wrongly_refused


def _count(rows: Sequence[Row], outcome: Outcome) -> int:
    return sum(row.outcome is outcome for row in rows)


def _checked(rows: Sequence[Row], check: Check) -> int:
    return sum(row.check is check for row in rows)


def _seeds(rows: Sequence[Row]) -> str:
    seeds = [row.seed for row in rows]
    return f"{min(seeds)} to {max(seeds)}" if seeds else "none"


def _times(rows: Sequence[Row]) -> dict[str, str]:
    """Over all cases, and over those that were solved: a refusal by a bound takes no time."""
    solved = [row for row in rows if row.outcome in (Outcome.CERTIFIED, Outcome.UNCERTIFIED)]
    table: dict[str, str] = {}
    for whose, some in (("all", rows), ("solved", solved)):
        times = sorted(row.seconds for row in some)
        if times:
            median, high = statistics.median(times), _percentile(times, 0.95)
            table[f"processor time of {whose}, median"] = f"{median:.2f} s"
            table[f"processor time of {whose}, 95th percentile"] = f"{high:.2f} s"
            table[f"processor time of {whose}, longest"] = f"{times[-1]:.2f} s"
    return table


def _iterations(rows: Sequence[Row]) -> dict[str, str]:
    counts = sorted(float(row.iterations) for row in rows if row.iterations is not None)
    if not counts:
        return {}
    return {
        "iterations, median": f"{statistics.median(counts):.0f}",
        "iterations, 95th percentile": f"{_percentile(counts, 0.95):.0f}",
    }


def _percentile(ordered: Sequence[float], share: float) -> float:
    """The smallest value that at least this share of them does not exceed."""
    return next(
        value for index, value in enumerate(ordered, start=1) if index >= share * len(ordered)
    )


def _failure(row: Row) -> str:
    message = row.message.strip().splitlines()[-1] if row.message.strip() else row.verdict
    text = message.replace("|", "/")[:160]
    return (
        f"| {row.seed} | {row.outcome.value} | {row.check.value} | {row.label} | "
        f"{row.seconds:.2f} | {text} |"
    )

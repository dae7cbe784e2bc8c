"""How the survey went for each kind of case."""

from __future__ import annotations

from collections.abc import Sequence

from benchmarks.survey.outcome import Outcome, Row

_HEADS = {
    Outcome.CERTIFIED: "certified",
    Outcome.UNCERTIFIED: "in doubt",
    Outcome.REFUSED: "refused",
    Outcome.BARE: "bare",
    Outcome.REJECTED: "input error",
    Outcome.CRASHED: "crashed",
}


def by_feature(rows: Sequence[Row]) -> str:
    """Outcomes of the cases with each feature as a Markdown table; nothing where none has any."""
    names = sorted({name for row in rows for name in row.features})
    if not names:
        return ""
    lines = [
        "",
        "## By feature",
        "",
        f"| feature | cases | {' | '.join(_HEADS.values())} | longest s |",
        "|---|---:|" + "---:|" * (len(_HEADS) + 1),
    ]
    lines += [_line(name, [row for row in rows if name in row.features]) for name in names]
    return "\n".join(lines) + "\n"


def _line(name: str, rows: Sequence[Row]) -> str:
    counts = [str(sum(row.outcome is outcome for row in rows)) for outcome in _HEADS]
    longest = max(row.seconds for row in rows)
    return f"| {name} | {len(rows)} | {' | '.join(counts)} | {longest:.2f} |"

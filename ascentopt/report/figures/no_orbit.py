"""Which rules do not reach the orbit, and why, in few words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from ascentopt.report.page.sheet import wrapped
from ascentopt.studies.comparison.outcome import RuleOutcome

SIZE = 8.0
"""Points of the letters."""

_INDENT = 20.0

_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e[-+]?\d+)?")


def no_orbit_lines(outcomes: Sequence[RuleOutcome], width: float) -> Iterator[str]:
    """Lines no wider than `width` points: each reason once, then whom it stopped.

    Reasons that differ in their numbers only are one, with the range of these.
    """
    alike: dict[str, list[RuleOutcome]] = {}
    for one in outcomes:
        if one.penalty is None:
            alike.setdefault(_NUMBER.sub("#", _reason(one)), []).append(one)
    for group in alike.values():
        yield from wrapped(f"No orbit: {_together([_reason(one) for one in group])}:", width, SIZE)
        names = "; ".join(one.name for one in group) + "."
        yield from (f"    {line}" for line in wrapped(names, width - _INDENT, SIZE))


def _reason(one: RuleOutcome) -> str:
    return (one.remark or "no reason is known").rstrip(".")


def _together(reasons: Sequence[str]) -> str:
    """One of the reasons, with the least and the greatest of all their numbers."""
    columns = zip(*(_NUMBER.findall(reason) for reason in reasons), strict=True)
    spans = iter([_span(column) for column in columns])
    return _NUMBER.sub(lambda _: next(spans), reasons[0])


def _span(numbers: Sequence[str]) -> str:
    low, high = min(numbers, key=float), max(numbers, key=float)
    return low if float(low) == float(high) else f"{low} to {high}"

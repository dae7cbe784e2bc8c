"""The table of relations: how many of each kind are broken, then every broken pair."""

from __future__ import annotations

import statistics
from collections.abc import Sequence

from benchmarks.survey.pairs import WORSE, Pair, Related


def relations_table(found: Sequence[Related], title: str) -> str:
    """A summary by relation and all broken pairs as Markdown."""
    solved = [one for one in found if one.solved]
    names = list(dict.fromkeys(pair.relation for one in solved for pair in one.pairs))
    words = (
        f"{len(solved)} solved cases of {len(found)}; *worse*: by more than {WORSE:g} of the "
        "propellant (mirrored, ten times and a millionth: apart by more than that)."
    )
    lines = [
        f"# {title}",
        "",
        words,
        "",
        "| relation | pairs | worse | greatest excess | outcome changed | median s |",
        "|---|---:|---:|---:|---:|---:|",
        *(_summary(name, solved) for name in names),
        "",
        "## Broken pairs",
        "",
    ]
    broken = [_broken(one, pair) for one in solved for pair in one.broken()]
    if not broken:
        return "\n".join([*lines, "None."]) + "\n"
    head = [
        "| seed | relation | case kg | neighbour kg | excess | outcome | case |",
        "|---:|---|---:|---:|---:|---|---|",
    ]
    return "\n".join([*lines, *head, *broken]) + "\n"


def _summary(name: str, solved: Sequence[Related]) -> str:
    pairs = [(one, pair) for one in solved for pair in one.pairs if pair.relation == name]
    told = [(pair, one.propellant_used or 1.0) for one, pair in pairs]
    worse = sum(pair.wrong(used) for pair, used in told)
    excesses = [(pair.excess(used), pair.both_ways) for pair, used in told]
    sizes = [abs(x) if both else x for x, both in excesses if x is not None]
    changed = sum(pair.outcome is not one.outcome for one, pair in pairs)
    median = statistics.median(pair.seconds for pair, _ in told)
    greatest = f"{max(sizes):.1e}" if sizes else "-"
    return f"| {name} | {len(pairs)} | {worse} | {greatest} | {changed} | {median:.2f} |"


def _broken(one: Related, pair: Pair) -> str:
    excess = pair.excess(one.propellant_used or 1.0)
    kept = pair.outcome is one.outcome
    message = pair.message.strip().splitlines()[0][:100].replace("|", "/") if pair.message else ""
    outcome = "" if kept else f"{one.outcome.value} -> {pair.outcome.value}: {message}"
    return (
        f"| {one.seed} | {pair.relation} | {one.propellant_used:.3f} "
        f"| {'-' if pair.propellant_used is None else f'{pair.propellant_used:.3f}'} "
        f"| {'-' if excess is None else f'{excess:+.2e}'} | {outcome} | {one.label} |"
    )

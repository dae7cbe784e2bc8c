"""A case beside its neighbours: what each answers, and whether that may be."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

from benchmarks.survey.generator import Case, case
from benchmarks.survey.judge import Family, Judge
from benchmarks.survey.outcome import Outcome
from benchmarks.survey.relations import Variant, variants

WORSE = 1e-4
"""Part of the propellant by which a neighbour's answer may be worse: a hundredth of what an
engineer would look at, and a hundred times what meshes and tolerances leave."""


@dataclass(frozen=True, kw_only=True)
class Pair:
    """The answer to a neighbour: `propellant_used` in kg of the case's own size, `seconds` CPU."""

    relation: str
    outcome: Outcome
    seconds: float
    propellant_used: float | None = None
    both_ways: bool = False
    message: str = ""

    def excess(self, used: float) -> float | None:
        """Part of the case's `used` kg that the neighbour burns more; None without an answer."""
        return None if self.propellant_used is None else self.propellant_used / used - 1.0

    def wrong(self, used: float) -> bool:
        """Whether the relation is broken by propellant."""
        excess = self.excess(used)
        if excess is None:
            return False
        return (abs(excess) if self.both_ways else excess) > WORSE


@dataclass(frozen=True, kw_only=True)
class Related:
    """A case of the survey and its neighbours; without an answer it has none."""

    seed: int
    label: str
    outcome: Outcome
    seconds: float
    propellant_used: float | None = None
    pairs: tuple[Pair, ...] = ()
    message: str = ""

    @property
    def solved(self) -> bool:
        """Whether there is an answer to compare with."""
        return self.propellant_used is not None

    def broken(self) -> list[Pair]:
        """Pairs that are worse than they may be, or end otherwise."""
        used = self.propellant_used or 1.0
        return [one for one in self.pairs if one.outcome is not self.outcome or one.wrong(used)]

    def to_json(self) -> str:
        """One line of the journal."""
        pairs = [asdict(one) | {"outcome": one.outcome.name} for one in self.pairs]
        return json.dumps(asdict(self) | {"outcome": self.outcome.name, "pairs": pairs})

    @classmethod
    def from_json(cls, line: str) -> Related:
        """What `to_json` wrote."""
        plain: dict[str, Any] = json.loads(line)
        pairs = [Pair(**one | {"outcome": Outcome[one["outcome"]]}) for one in plain["pairs"]]
        return cls(**plain | {"outcome": Outcome[plain["outcome"]], "pairs": tuple(pairs)})


@dataclass(frozen=True)
class Relating:
    """Has a judge's optimiser answer a case and its neighbours. Picklable, as the judge is."""

    judge: Judge

    def __call__(self, seed: int) -> Related:
        """The case of this seed beside its neighbours."""
        drawn = self.judge.family(seed)
        own = self.judge.answer(drawn)
        found = Related(
            seed=seed,
            label=drawn.label,
            outcome=own.outcome,
            seconds=own.seconds,
            propellant_used=own.propellant_used,
            message=own.message,
        )
        if not found.solved:
            return found
        neighbours = variants(drawn.vehicle, drawn.mission)
        return replace(found, pairs=tuple(self._pair(seed, one) for one in neighbours))

    def _pair(self, seed: int, variant: Variant) -> Pair:
        name, vehicle, mission = variant.relation, variant.vehicle, variant.mission
        row = self.judge.answer(Case(seed=seed, vehicle=vehicle, mission=mission, label=name))
        used = row.propellant_used
        return Pair(
            relation=name,
            outcome=row.outcome,
            seconds=row.seconds,
            propellant_used=None if used is None else used / variant.size,
            both_ways=variant.both_ways,
            message=row.message or row.verdict,
        )


def died(seed: int, message: str, family: Family = case) -> Related:
    """A case that took its whole process down."""
    label = family(seed).label
    return Related(seed=seed, label=label, outcome=Outcome.CRASHED, seconds=0.0, message=message)


def enough(first: int, count: int, run: Callable[[range], list[Related]]) -> list[Related]:
    """Cases from a seed on until so many are solved, or ten times as many were tried."""
    found: list[Related] = []
    end = first
    while (missing := count - sum(one.solved for one in found)) and end < first + 10 * count:
        end += missing
        found = run(range(first, end))
    return found

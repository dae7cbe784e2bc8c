"""Whether an ascent costs what was recorded; if not, why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import floor, log10

from ascentopt.arguments import checked_kinds
from ascentopt.baselines.case import WORDS, BaselineCase
from ascentopt.baselines.explanation import (
    InputChange,
    changes_between,
    lines,
    predicted,
    predicted_by_both,
    signed,
)
from ascentopt.tables import one_line, page

MOST_LINES = 20
"""Changed inputs that are told line by line; all of them are in `changes`."""


@checked_kinds
@dataclass(frozen=True, kw_only=True)
class BaselineCheck:
    """An ascent beside its recorded case: true where it agrees; its text says what drifted and why.

    It agrees where its cost is within the tolerance, and its verdict is no worse. A cost that is
    lower by more than the tolerance does not agree either: what is recorded is no longer the best.
    Inputs or a structure that changed are told, and are no failure by themselves.

    Args:
        name: of the case.
        recorded: as it is in the baseline, with the tolerance that counts.
        found: what would be recorded of the ascent.
    """

    name: str
    recorded: BaselineCase
    found: BaselineCase

    @property
    def agrees(self) -> bool:
        """Whether the cost is within the tolerance and the verdict no worse."""
        return self._costs_as_much and not self.verdict_is_worse

    def __bool__(self) -> bool:
        return self.agrees

    @property
    def difference(self) -> float:
        """Kg of propellant more than recorded; negative for less."""
        return self.found.cost - self.recorded.cost

    @property
    def allowed(self) -> float:
        """Kg by which it may differ."""
        return self.recorded.tolerance.allowed(self.recorded.propellant_used)

    @property
    def verdict_is_worse(self) -> bool:
        """Whether the certificate vouches for less than it did."""
        return WORDS.index(self.found.verdict) > WORDS.index(self.recorded.verdict)

    @property
    def structure_changed(self) -> bool:
        """Whether it flies by other burns or coasts, or drops its fairing elsewhere."""
        return self.found.structure != self.recorded.structure

    @cached_property
    def changes(self) -> tuple[InputChange, ...]:
        """The inputs that are not as recorded, those with a partial first."""
        return changes_between(self.recorded, self.found)

    @property
    def predicted(self) -> float:
        """Kg that the recorded partials predict for these inputs together, to first order."""
        return predicted(self.changes)

    @property
    def unexplained(self) -> float:
        """Kg of the difference that they do not predict."""
        return self.difference - self.predicted

    @property
    def is_as_recorded(self) -> bool:
        """Whether it agrees, and inputs, structure and verdict are those recorded."""
        same = self.found.verdict == self.recorded.verdict and not self.structure_changed
        return self.agrees and same and not self.changes

    def __str__(self) -> str:
        return "\n  ".join([self._headline, *self._details()])

    def __repr__(self) -> str:
        return one_line(self, "agrees" if self else "does not agree", self._headline)

    def _repr_html_(self) -> str:
        return page(self._headline, self._details())

    @property
    def _decimals(self) -> int:
        """Of kilograms, with which the tolerance shows: no fewer than two, as people weigh."""
        return max(2, -floor(log10(self.allowed)))

    def _kg(self, mass: float) -> str:
        return signed(mass, self._decimals)

    @property
    def _headline(self) -> str:
        worse = "a worse verdict, " if self.verdict_is_worse else ""
        return f"{self.name}: {self._kg(self.difference)} kg: {worse}{self._why}"

    @property
    def _costs_as_much(self) -> bool:
        return abs(self.difference) <= self.allowed

    @property
    def _why(self) -> str:
        if not self.changes:
            left = "the cost agrees" if self._costs_as_much else "all of it is unexplained"
            return f"no input changed, {left}"
        left = f"unexplained {self._kg(self.unexplained)}"
        if len(self.changes) == 1:
            return f"{next(lines(self.changes, self._decimals))}, {left}"
        known = sum(not change.unpriced for change in self.changes)
        return (
            f"{len(self.changes)} inputs changed, {known} of them with a partial predict "
            f"{self._kg(self.predicted)} together, {left}"
        )

    def _details(self) -> Iterator[str]:
        digits = self._decimals
        old, new = self.recorded, self.found
        verdict = "agrees" if self._costs_as_much else self._drift
        yield (
            f"propellant used {old.propellant_used:.{digits}f} -> {new.propellant_used:.{digits}f} "
            f"kg, tolerance {self.allowed:.{digits}f} kg ({old.tolerance}): {verdict}"
        )
        if old.ballast or new.ballast:
            told = f"{old.ballast:.{digits}f} -> {new.ballast:.{digits}f} kg"
            yield f"ballast {told}: what there is less of it counts as propellant used"
        yield from self._changed_inputs()
        yield from self._flight()
        if self.found.recorded_with != old.recorded_with:
            yield f"recorded with {old.recorded_with}; this is {new.recorded_with}"

    @property
    def _drift(self) -> str:
        return "drifted" if self.difference > 0.0 else "drifted, it is better than recorded"

    def _changed_inputs(self) -> Iterator[str]:
        if not self.changes:
            return
        if len(self.changes) > 1:
            told = list(lines(self.changes, self._decimals))
            yield from told[:MOST_LINES]
            if len(told) > MOST_LINES:
                yield f"and {len(told) - MOST_LINES} inputs more"
        yield from self._how_predicted()

    def _how_predicted(self) -> Iterator[str]:
        if all(change.unpriced for change in self.changes):
            return
        if self.structure_changed:
            yield "predicted to first order by the recorded partials, which are of its structure"
            return
        both = predicted_by_both(self.changes)
        text = "predicted to first order by the recorded partials"
        if both is not None:
            text += f"; by the mean of these and the present ones {self._kg(both)}"
            text += f", unexplained {self._kg(self.difference - both)}"
        yield text

    def _flight(self) -> Iterator[str]:
        for word in ("structure", "verdict"):
            old, new = getattr(self.recorded, word), getattr(self.found, word)
            if old != new:
                yield f"{word} was: {old}; is: {new}"

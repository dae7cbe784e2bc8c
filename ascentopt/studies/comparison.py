"""The optimum beside the rules of thumb."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.optimal.ascent import Ascent
from ascentopt.studies.outcome import RuleOutcome


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """The optimal ascent and how each rule of thumb fared against it.

    Args:
        ascent: the optimum.
        outcomes: of every rule, by habit and tuned, cheapest first, those without an orbit last.
    """

    ascent: Ascent
    outcomes: tuple[RuleOutcome, ...]

    __hash__ = None  # type: ignore[assignment]

    @property
    def best_rule(self) -> RuleOutcome | None:
        """The cheapest rule that reaches the orbit; None where none does."""
        return next((one for one in self.outcomes if one.reached), None)

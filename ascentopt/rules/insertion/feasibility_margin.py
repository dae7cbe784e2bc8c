"""What is left until the unknowns of an insertion cannot be flown any more."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.insertion.refusals import TooHigh
from ascentopt.typing import Floats

Miss = tuple[float, float, float]

_FARTHEST = 1e4  # s or km; an orbit that escapes is infinitely far beyond


@checked
@dataclass(frozen=True, kw_only=True)
class FeasibilityMargin:
    """One of the edges beyond which unknowns cannot be flown.

    Beyond it the flight itself stops to change. With what `miss_per_unit` adds a search sees a
    smooth slope there, and finds how far beyond the flight lies that it looks for.

    Args:
        left: s or km as far as the edge; negative beyond it.
        miss_per_unit: (3,) of the orbit for each unit that lacks: m of radius, m/s of climb and of
            speed; zeros where the flight goes on to change.
        why: what the flight would have to do beyond it.
        kind: of the error that says so.
    """

    left: float
    miss_per_unit: Miss
    why: str
    kind: type[CompiledFlightError] = TooHigh


def miss_beyond_edges(margins: Iterable[FeasibilityMargin]) -> Floats:
    """(3,) what lies beyond the edges adds to the miss; zeros for what can be flown."""
    found: Floats = np.zeros(3)
    for margin in margins:
        found += min(max(-margin.left, 0.0), _FARTHEST) * np.array(margin.miss_per_unit)
    return found


def refusal(margins: Iterable[FeasibilityMargin]) -> CompiledFlightError | None:
    """The error that says what cannot be flown; None where all can."""
    return next((one.kind(one.why) for one in margins if one.left < 0.0), None)

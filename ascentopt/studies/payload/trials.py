"""Payloads that were tried, and which to try next."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from math import inf

from ascentopt.optimal.optimize import Optimum

NARROW = 2e-3
"""Of the payload: the search ends where the heaviest that flies and the lightest that does not are
this close."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Trial:
    """A payload that was tried.

    Attributes:
        payload: kg.
        surplus: kg of propellant above the reserve; an estimate where there is no ascent, -inf
            where there is not even that.
        slope: kg of surplus for each kg of payload; a neighbour's where there is no ascent.
        close: kg of surplus that are next to nothing.
        verdict: why it is refused, empty where it is not.
        optimum: None where the orbit is not reached.
        continued: whether it was flown from a neighbour.
        heavier: kg of a heavier payload that its refusal names: a limit on acceleration may let a
            light vehicle burn too little.
    """

    payload: float
    surplus: float
    slope: float
    close: float
    verdict: str
    optimum: Optimum | None
    continued: bool
    heavier: float | None = None

    @property
    def flies(self) -> bool:
        """Whether the orbit is reached and the reserve is left."""
        return self.surplus >= 0.0

    @property
    def too_far(self) -> bool:
        """Whether it was flown from a neighbour in vain, without a word on what is missing."""
        return self.continued and self.surplus == -inf

    def root(self) -> float:
        """Payload that would leave half of what is next to nothing, by the slope."""
        return max(self.payload - (self.surplus - 0.5 * self.close) / self.slope, 0.0)


def bracket(trials: list[Trial]) -> tuple[Trial | None, Trial | None]:
    """The heaviest that flies, and the lightest heavier one that does not.

    A refusal without a shortfall only says that it was too far from where it was flown from: it
    counts until a heavier one flies.
    """
    low = max((t for t in trials if t.flies), key=lambda t: t.payload, default=None)
    least = low.payload if low is not None else -inf
    since = trials.index(low) if low is not None else 0
    above = (
        trial
        for k, trial in enumerate(trials)
        if not trial.flies and trial.payload > least and (trial.surplus > -inf or k > since)
    )
    return low, min(above, key=lambda trial: (trial.payload, -trial.surplus), default=None)


def nearest(trials: list[Trial], payload: float) -> Trial | None:
    """The trial with an ascent that is nearest, whether it leaves the reserve or not."""
    flown = (trial for trial in trials if trial.optimum is not None)
    return min(flown, key=lambda trial: abs(trial.payload - payload), default=None)


def next_payload(trials: list[Trial]) -> float | None:
    """Payload to try next; None when the answer is known."""
    low, high = bracket(trials)
    if low is None:
        return trials[-1].heavier or _lighter(trials)
    ceiling = high.payload if high is not None else inf
    narrow = ceiling - low.payload <= NARROW * ceiling
    if low.surplus <= low.close or (high is not None and narrow):
        return None
    last = trials[-1]
    if last.surplus > -inf and low.payload < last.root() < ceiling:
        return last.root()
    return 0.5 * (low.payload + ceiling)


def _lighter(trials: list[Trial]) -> float:
    """By what is missing; while that is not known, down by 2, 4, 8 ... per cent."""
    unknown = len(list(takewhile(lambda t: t.surplus == -inf, reversed(trials))))
    share = 1.0 - 0.01 * 2.0**unknown
    return max(trials[-1].payload * share if unknown else trials[-1].root(), 0.0)

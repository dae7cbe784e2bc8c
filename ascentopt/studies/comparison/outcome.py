"""How one rule of thumb fared."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.steering.programme import Programme


@dataclass(frozen=True, kw_only=True)
class RuleOutcome:
    """What a rule of thumb costs, flown by habit or tuned.

    Args:
        rule: its name, for instance "gravity turn from a kick".
        insertion: how it enters the orbit, for instance "coast and circularise".
        tuned: whether its parameters were chosen for least propellant, or are the habit's.
        parameters: what was flown.
        flight: into the orbit, by the independent simulator; None where it does not get there.
        propellant_used: kg; None without a flight.
        penalty: kg beyond the optimum's propellant; None without a flight.
        penalty_of_margin: the same as a fraction of the optimum's margin; None likewise.
        peak_dynamic_pressure: Pa; None without a flight.
        peak_q_alpha: Pa rad, dynamic pressure times angle of attack; None without a flight.
        law: what was flown, to be flown again by `fly`; None without a flight.
        broken: limits of the mission that it exceeds.
        remark: why there is no flight, or what else should be known; may be empty.
    """

    rule: str
    insertion: str
    tuned: bool
    parameters: tuple[Parameter, ...]
    flight: Flight | None
    propellant_used: float | None
    penalty: float | None
    penalty_of_margin: float | None
    peak_dynamic_pressure: float | None
    peak_q_alpha: float | None
    law: Programme | None = None
    broken: tuple[Excess, ...] = ()
    remark: str = ""

    __hash__ = None  # type: ignore[assignment]

    @property
    def name(self) -> str:
        """Rule, insertion and whether it is tuned, in one line."""
        return f"{self.rule}, {self.insertion}, {'tuned' if self.tuned else 'by habit'}"

    @property
    def reached(self) -> bool:
        """Whether the flight ends in the orbit."""
        return self.flight is not None

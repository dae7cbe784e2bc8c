"""Between which values a number makes sense: beyond some it cannot be, beyond others it is odd."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from ascentopt.arguments.unusual import unusual
from ascentopt.validation import require

Slip = Callable[[float], str]
"""From the value to the likely slip, and what to write then."""


@dataclass(frozen=True, kw_only=True)
class Sense:
    """What may be and what is usual of a quantity.

    Args:
        quantity: as a person says it.
        unit: of all values.
        least, most: beyond which it is refused.
        low, high: beyond which it is warned of.
        ideal: beyond which no slip explains it, and it is warned of only: thought experiments have
            impulses without duration, and engines that burn nothing.
        if_low, if_high: the likely slip.
    """

    quantity: str
    unit: str
    least: float = -inf
    low: float = -inf
    high: float = inf
    most: float = inf
    ideal: float = inf
    if_low: Slip = lambda value: ""
    if_high: Slip = lambda value: ""

    def check(self, owner: str, name: str, value: float, slip: str = "") -> None:
        """Refuse, or warn of, a value that makes no sense.

        `slip` is said where the quantity itself cannot tell, as it is made of several arguments.

        Raises:
            InputError: beyond `least` and `most`; a warning beyond `low` and `high`.
        """
        if self.low <= value <= self.high:
            return
        value = float(f"{value:.6g}")
        told = slip or (self.if_low(value) if value < self.low else self.if_high(value))
        slip = told or "Correct it, or its unit: numbers are in SI units."
        good = self.least <= value <= self.most or value > self.ideal
        require(owner, name, value, self.unit, self._range(self.least, self.most), slip, holds=good)
        usual = self._range(self.low, self.high)
        unusual(owner, name, value, self.unit, usual, slip, when=True)

    def _range(self, low: float, high: float) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if low == -inf:
            return f"at most {high:.6g}{unit} ({self.quantity})"
        if high == inf:
            return f"at least {low:.6g}{unit} ({self.quantity})"
        return f"between {low:.6g} and {high:.6g}{unit} ({self.quantity})"

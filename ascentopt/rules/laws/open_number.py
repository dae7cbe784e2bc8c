"""A number that a rule of thumb leaves open, and between which values it is sought."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.validation import finite, named, positive

_SPAN = 3.0
"""Length of a range that is not sought by logarithms, in these: that of one from 1 to 20."""

_FARTHEST = 700.0  # whose exponential is a number

_BESIDE = 1e-4  # of a scale: a number so near to its bound is held by it


@checked
@dataclass(frozen=True, kw_only=True)
class Open:
    """A number that a rule of thumb leaves open. Raises `InputError`.

    It is sought by its logarithm where `low` is positive, evenly otherwise. With `low` equal to
    `high` it is fixed: it is flown and told as such, and not tuned.

    Args:
        name: as a person says it.
        unit: "rad", "rad/s", "m", "m/s" or "s"; empty for a number without a dimension.
        low, high: between which it is sought, in `unit`.
        usual: what is flown by habit, in `unit`, and where tuning begins; None where there is no
            habit: tuning then begins in the middle of the range.
    """

    name: str
    unit: str
    low: float
    high: float
    usual: float | None = None

    def __post_init__(self) -> None:
        named("Open", self.name, 'Name the number as a person says it, as "kick angle".')
        owner, fix = f"Open {self.name!r}", "Give bounds between which the number is sought."
        if not isinstance(self.unit, str):
            raise InputError(
                f"{owner}: unit is {self.unit!r}; it must be a text. "
                'Give "rad", "m", "m/s", "s", or "" for a number without a dimension.'
            )
        finite(owner, "low", self.low, self.unit, fix)
        finite(owner, "high", self.high, self.unit, fix)
        if self.low > self.high:
            raise InputError(
                f"{owner}: low is {self.low!r} and high {self.high!r} {self.unit}; low must not be "
                "above high. Exchange them, or give both the same value for a number that is fixed."
            )
        if self.usual is not None:
            finite(owner, "usual", self.usual, self.unit, fix)
            if not self.low <= self.usual <= self.high:
                raise InputError(
                    f"{owner}: usual is {self.usual!r} {self.unit}; it must lie between low, "
                    f"{self.low!r}, and high, {self.high!r}. Widen the bounds, or leave it out."
                )

    @property
    def fixed(self) -> bool:
        """Whether there is nothing to tune."""
        return self.low == self.high

    @property
    def middle(self) -> float:
        """In the middle of the range on its scale."""
        return self.value(0.5 * (self.place(self.low) + self.place(self.high)))

    def place(self, value: float) -> float:
        """Where a value stands on the scale on which the number is sought. Raises `InputError`."""
        if self.low > 0.0:
            fix = f"Give a number between {self.low!r} and {self.high!r}."
            positive(f"Open {self.name!r}", "value", value, self.unit, fix)
        if self.low > 0.0 or self.fixed:
            return log(value) if self.low > 0.0 else 0.0
        return _SPAN * (value - self.low) / (self.high - self.low)

    def value(self, place: float) -> float:
        """The value that stands there. Raises `InputError` beyond all numbers."""
        if self.fixed:
            return self.low
        if self.low > 0.0 and place > _FARTHEST:
            raise InputError(
                f"Open {self.name!r}: place is {place!r}; it must be at most {_FARTHEST:g}. Give "
                "what `place` returns for a value."
            )
        if self.low > 0.0:
            return exp(place)
        return self.low + place / _SPAN * (self.high - self.low)

    def valued(self, value: float) -> Parameter:
        """With a value."""
        ends = self.place(self.low), self.place(self.high)
        beside = any(abs(self.place(value) - end) < _BESIDE for end in ends)
        return Parameter(
            name=self.name,
            value=value,
            unit=self.unit,
            fixed=self.fixed,
            at_bound=beside and not self.fixed,
        )

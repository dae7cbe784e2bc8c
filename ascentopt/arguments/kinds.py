"""Kinds of values that arguments may be: each keeps what fits, converted, or says what would fit.

Whole numbers stand for floats, NumPy's numbers for Python's, lists and arrays for tuples. A bool is
no number, a text no sequence; sets and dicts have no order and are none either.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from enum import Enum
from math import isfinite
from numbers import Integral, Real
from types import NoneType
from typing import Any, ClassVar

import numpy as np

from ascentopt.telling import a, told


class Misfit(Exception):
    """A value that does not fit: where it stands below the argument, the rule and the fix."""

    def __init__(self, value: object, rule: str, fix: str, place: str = "") -> None:
        super().__init__(rule)
        self.value, self.rule, self.fix, self.place = value, rule, fix, place

    def at(self, index: int) -> Misfit:
        """The same, within an item of a sequence."""
        return Misfit(self.value, self.rule, self.fix, f"[{index}]{self.place}")


class Kind(ABC):
    """What fits, in words, and what keeps it.

    Attributes:
        sure: types all of whose objects fit as they are.
    """

    sure: ClassVar[Collection[type]] = frozenset()

    @property
    @abstractmethod
    def rule(self) -> str:
        """What it must be, behind "it must be"."""

    @abstractmethod
    def keep(self, value: Any) -> Any:
        """The value as it is kept. Raises `Misfit`."""

    def fits(self, value: object) -> bool:
        """Whether it may be kept."""
        try:
            self.keep(value)
        except Misfit:
            return False
        return True


@dataclass(frozen=True)
class Anything(Kind):
    """What annotations say nothing of."""

    rule: str = "anything"

    def keep(self, value: Any) -> Any:
        """Whatever it is."""
        return value


@dataclass(frozen=True)
class Number(Kind):
    """A real number; a result may hold one that is not known, or has no end."""

    finite: bool

    @property
    def rule(self) -> str:
        """As errors say it."""
        return "a finite number" if self.finite else "a number"

    def keep(self, value: Any) -> Any:
        """As a Python float, or the whole number that it is."""
        if type(value) is float and (isfinite(value) or not self.finite):
            return value
        whole = type(value) is int
        if isinstance(value, bool) or not isinstance(value, Real):
            raise self._misfit(value)
        try:
            kept = float(value)
        except OverflowError:
            raise self._misfit(value) from None
        if self.finite and not isfinite(kept):
            raise self._misfit(value)
        return value if whole else kept

    def _misfit(self, value: object) -> Misfit:
        fix = "Give an int or a float in SI units."
        if isinstance(value, str):
            fix = "Give the number without quotes, in SI units, such as 300 * ascentopt.units.km."
        return Misfit(value, self.rule, fix)


@dataclass(frozen=True)
class Whole(Kind):
    """A whole number."""

    rule: str = "a whole number"
    sure: ClassVar[Collection[type]] = frozenset({int})

    def keep(self, value: Any) -> Any:
        """As a Python int."""
        if type(value) is int:
            return value
        if isinstance(value, bool) or not isinstance(value, Integral):
            raise Misfit(value, self.rule, "Give an int, without quotes or decimals.")
        return int(value)


@dataclass(frozen=True)
class Flag(Kind):
    """Yes or no."""

    rule: str = "True or False"
    sure: ClassVar[Collection[type]] = frozenset({bool})

    def keep(self, value: Any) -> Any:
        """As a Python bool."""
        if not isinstance(value, bool | np.bool_):
            raise Misfit(value, self.rule, "Give one of the two.")
        return bool(value)


@dataclass(frozen=True)
class Text(Kind):
    """A text."""

    rule: str = "a text"
    sure: ClassVar[Collection[type]] = frozenset({str})

    def keep(self, value: Any) -> Any:
        """As it is."""
        if not isinstance(value, str):
            raise Misfit(value, self.rule, "Give a str, in quotes.")
        return value


@dataclass(frozen=True)
class Formula(Kind):
    """What a formula takes: numbers, or expressions of a symbolic library."""

    rule: str = "a number, an array of numbers or an expression"

    def keep(self, value: Any) -> Any:
        """As it is; a list as an array."""
        if type(value) is float or type(value).__module__.startswith("casadi"):
            return value
        found = np.asarray(value) if not isinstance(value, str | bytes | type(None)) else None
        if found is None or found.dtype.kind not in "iuf":
            raise Misfit(value, self.rule, "Give an int, a float or a NumPy array of them.")
        return found if isinstance(value, list | tuple) else value


@dataclass(frozen=True)
class Nothing(Kind):
    """Nothing at all."""

    rule: str = "None"
    sure: ClassVar[Collection[type]] = frozenset({NoneType})

    def keep(self, value: Any) -> Any:
        """None."""
        if value is not None:
            raise Misfit(value, self.rule, "Leave it out.")
        return None


@dataclass(frozen=True)
class Callables(Kind):
    """Something to be called."""

    rule: str = "callable"

    def keep(self, value: Any) -> Any:
        """As it is."""
        if not callable(value):
            raise Misfit(value, self.rule, "Give a function, without calling it.")
        return value


@dataclass(frozen=True)
class Instance(Kind):
    """An object of a class."""

    of: type
    sure: set[type] = field(default_factory=set, compare=False)  # type: ignore[misc]

    @property
    def rule(self) -> str:
        """As errors say it."""
        return f"of type {self.of.__name__}"

    def keep(self, value: Any) -> Any:
        """As it is."""
        if isinstance(value, self.of) or getattr(type(value), "stands_for_another", False):
            self.sure.add(type(value))  # what is seen once is looked up from then on
            return value
        raise Misfit(value, self.rule, self._fix(value))

    def _fix(self, value: object) -> str:
        if isinstance(value, type) and issubclass(value, self.of):
            return f"Give an instance, with parentheses: {value.__name__}()."
        holds = [
            one.name
            for one in (fields(value) if is_dataclass(value) else ())
            if isinstance(getattr(value, one.name, None), self.of)
        ]
        if holds:
            return f"Give its {' or '.join(holds)}."
        if is_dataclass(self.of) and not any(one.init for one in fields(self.of)):
            return f"Give {self.of.__name__}()."
        return f"Give {a(self.of)}{_made_by(self.of)}."


def _made_by(kind: type) -> str:
    """How an object of the class is made, where its fields tell."""
    if issubclass(kind, Enum):
        return ": " + " or ".join(str(one) for one in kind.__members__)
    if not is_dataclass(kind):
        return ""
    own = [one for one in fields(kind) if one.init]
    needed = [one.name for one in own if one.default is MISSING and one.default_factory is MISSING]
    named = needed or [one.name for one in own]
    return f", {kind.__name__}({', '.join(f'{name}=...' for name in named)})"


@dataclass(frozen=True)
class Subclass(Kind):
    """A class, below another."""

    of: type

    @property
    def rule(self) -> str:
        """As errors say it."""
        return f"a subclass of {self.of.__name__}"

    def keep(self, value: Any) -> Any:
        """As it is."""
        if isinstance(value, type) and issubclass(value, self.of):
            return value
        raise Misfit(value, self.rule, "Give the class itself, without parentheses.")


@dataclass(frozen=True)
class Row(Kind):
    """A sequence of one kind, kept as a tuple."""

    of: Kind

    @property
    def rule(self) -> str:
        """As errors say it."""
        return f"a list or tuple, each item {self.of.rule}"

    def keep(self, value: Any) -> Any:
        """As a tuple."""
        if type(value) is tuple and all(type(item) in self.of.sure for item in value):
            return value
        if isinstance(value, np.ndarray):
            value = value.tolist() if value.ndim == 1 else value
        if not isinstance(value, Iterable) or _no_row(value):
            fix = f"Put it in brackets: [{told(value)}]." if self.of.fits(value) else "Give a list."
            raise Misfit(value, self.rule, fix)
        kept = []
        for index, item in enumerate(value):
            try:
                kept.append(self.of.keep(item))
            except Misfit as misfit:
                raise misfit.at(index) from None
        return tuple(kept)


def _no_row(value: object) -> bool:
    """Whether what can be gone through is none all the same."""
    odd = isinstance(value, str | bytes | bytearray | Mapping | set | frozenset | np.ndarray)
    return odd or isinstance(value, type) or is_dataclass(value)


@dataclass(frozen=True)
class Items(Kind):
    """A tuple of so many, each of its own kind."""

    of: tuple[Kind, ...]

    @property
    def rule(self) -> str:
        """As errors say it."""
        return f"{len(self.of)} items: " + ", ".join(kind.rule for kind in self.of)

    def keep(self, value: Any) -> Any:
        """As a tuple."""
        value = value.tolist() if isinstance(value, np.ndarray) else value
        if not isinstance(value, list | tuple) or len(value) != len(self.of):
            raise Misfit(value, self.rule, f"Give a tuple of {len(self.of)}.")
        kept = []
        for index, (kind, item) in enumerate(zip(self.of, value, strict=True)):
            try:
                kept.append(kind.keep(item))
            except Misfit as misfit:
                raise misfit.at(index) from None
        return tuple(kept)


@dataclass(frozen=True)
class Either(Kind):
    """One of several kinds."""

    of: tuple[Kind, ...]

    @property
    def rule(self) -> str:
        """As errors say it."""
        first, *others = (kind.rule for kind in self.of)
        return " or ".join([first, *(rule.removeprefix("of type ") for rule in others)])

    def keep(self, value: Any) -> Any:
        """As the first that it fits."""
        if any(type(value) in kind.sure for kind in self.of):
            return value
        first: Misfit | None = None
        for kind in self.of:
            try:
                return kind.keep(value)
            except Misfit as misfit:
                first = misfit if first is None or misfit.place else first
        raise self._misfit(value, first)

    def _misfit(self, value: object, nearest: Misfit | None) -> Misfit:
        """Where the value fits one of them but for an item, that item's."""
        if nearest is None or nearest.place:
            return nearest or Misfit(value, self.rule, "Give one.")
        return Misfit(value, self.rule, nearest.fix)

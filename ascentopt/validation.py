"""Small checks that give every refusal the same shape: thing, value, rule, fix.

`owner` names the thing in the user's words ("Stage 'first'"), `fix` says what to do and ends with
a full stop. All of them raise `InputError` and return nothing, except where stated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from numbers import Real

from ascentopt.errors import InputError
from ascentopt.telling import told
from ascentopt.units import deg


def require(
    owner: str, name: str, value: object, unit: str, rule: str, fix: str, *, holds: bool
) -> None:
    """Refuse `value` unless its `rule` holds; the other checks end here."""
    if not holds:
        raise InputError(f"{owner}: {name} is {_show(value, unit)}; it must be {rule}. {fix}")


def finite(owner: str, name: str, value: object, unit: str, fix: str) -> None:
    """Refuse anything but a finite real number (a bool is not a number here)."""
    require(owner, name, value, unit, "a finite number", fix, holds=_is_finite(value))


def _is_finite(value: object) -> bool:
    try:
        return not isinstance(value, bool) and isinstance(value, Real) and isfinite(value)
    except OverflowError:  # a whole number beyond the floats
        return False


def positive(owner: str, name: str, value: float, unit: str, fix: str) -> None:
    """Refuse anything but a finite number above zero."""
    finite(owner, name, value, unit, fix)
    require(owner, name, value, unit, "positive", fix, holds=value > 0.0)


def not_negative(owner: str, name: str, value: float, unit: str, fix: str) -> None:
    """Refuse anything but a finite number at or above zero."""
    finite(owner, name, value, unit, fix)
    require(owner, name, value, unit, "zero or more", fix, holds=value >= 0.0)


def within(
    owner: str, name: str, value: float, unit: str, bounds: tuple[float, float], fix: str
) -> None:
    """Refuse a number outside the closed interval `bounds`."""
    finite(owner, name, value, unit, fix)
    low, high = bounds
    rule = f"between {low:.6g} and {high:.6g}" + (f" {unit}" if unit else "")
    fix = f"{_unit_slip(value, unit, bounds)}{fix}"
    require(owner, name, value, unit, rule, fix, holds=low <= value <= high)


def _unit_slip(value: float, unit: str, bounds: tuple[float, float]) -> str:
    """The slip in the unit that a number outside its bounds may be, where there is one."""
    low, high = bounds
    if low <= value <= high:
        return ""
    if unit == "rad" and low <= value * deg <= high:
        return f"It looks like degrees: write {value:g} * deg. "
    if unit == "" and bounds == (0.0, 1.0) and value <= 100.0:
        return f"It looks like per cent: write {value / 100.0:g}. " if value > 0.0 else ""
    return ""


def counting(owner: str, name: str, value: object, least: int, fix: str) -> None:
    """Refuse anything but a whole number of at least `least`."""
    good = isinstance(value, int) and not isinstance(value, bool) and value >= least
    require(owner, name, value, "", f"a whole number, {least} or more", fix, holds=good)


def named(owner: str, value: object, fix: str) -> None:
    """Refuse a name that is not a text with something in it."""
    good = isinstance(value, str) and bool(value.strip())
    require(owner, "name", value, "", "a text that is not empty", fix, holds=good)


def instance(owner: str, name: str, value: object, kinds: tuple[type, ...], fix: str) -> None:
    """Refuse an object that is none of `kinds`."""
    rule = "of type " + " or ".join(
        "None" if kind is type(None) else kind.__name__ for kind in kinds
    )
    require(owner, name, value, "", rule, fix, holds=isinstance(value, kinds))


def numbers(
    owner: str, name: str, values: Iterable[float], unit: str, fix: str
) -> tuple[float, ...]:
    """Return `values` as a tuple of floats; refuse it unless all of them are finite numbers."""
    if isinstance(values, (str, bytes)) or not isinstance(values, Iterable):
        raise InputError(f"{owner}: {name} is {told(values)}; it must be a list of numbers. {fix}")
    kept = tuple(values)
    if all(type(value) is float and isfinite(value) for value in kept):
        return kept
    for index, value in enumerate(kept):
        finite(owner, f"{name}[{index}]", value, unit, fix)
    return tuple(float(value) for value in kept)


def increasing(owner: str, name: str, values: Sequence[float], unit: str, fix: str) -> None:
    """Refuse a sequence in which a number is not above the one before it."""
    for index in range(1, len(values)):
        rule = f"above the value before it ({values[index - 1]!r})"
        rises = values[index] > values[index - 1]
        require(owner, f"{name}[{index}]", values[index], unit, rule, fix, holds=rises)


def same_length(owner: str, columns: dict[str, tuple[float, ...]], fix: str) -> None:
    """Refuse columns of a table that differ in length."""
    if len({len(column) for column in columns.values()}) > 1:
        lengths = ", ".join(f"{name} has {len(column)}" for name, column in columns.items())
        raise InputError(f"{owner}: {lengths} values; they must be equally many. {fix}")


def _show(value: object, unit: str) -> str:
    return f"{told(value)} {unit}".rstrip()

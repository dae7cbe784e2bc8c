"""Where a value that is dear to ask for passes zero."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

_MOST = 60


class Point(NamedTuple):
    """A value somewhere."""

    at: float
    value: float


def passes_zero(
    value: Callable[[float], float], before: Point, after: Point, close: float
) -> float:
    """Where a value that is negative `before` and not negative `after` passes zero.

    The place is one at which the value was asked for last, and within `close` of the zero, as far
    as the secant there tells. T. R. Chandrupatla, A new hybrid quadratic/bisection algorithm,
    Advances in Engineering Software 28 (1997), 145-149; begun with the secant instead.
    """
    last, other = after, before
    at = _secant(before, after)
    for _ in range(_MOST):
        found = Point(at, value(at))
        if abs(_secant(found, last) - at) < close or found.value == 0.0:
            break
        if (found.value < 0.0) == (last.value < 0.0):
            gone, last = last, found
        else:
            gone, other, last = other, last, found
        at = _next(last, other, gone)
        if abs(other.at - last.at) < close:
            value(last.at)
            return last.at
    return found.at


def _secant(a: Point, b: Point) -> float:
    if a.value == b.value:
        return 0.5 * (a.at + b.at)
    return a.at - a.value * (b.at - a.at) / (b.value - a.value)


def _next(last: Point, other: Point, gone: Point) -> float:
    """Inverse quadratic interpolation where it can be trusted, else the middle."""
    place = (last.at - other.at) / (gone.at - other.at)
    height = (last.value - other.value) / (gone.value - other.value)
    if not (height**2 < place and (1.0 - height) ** 2 < 1.0 - place):
        return 0.5 * (last.at + other.at)
    first = last.value / (other.value - last.value) * gone.value / (other.value - gone.value)
    second = (
        (gone.at - last.at) / (other.at - last.at) * last.value / (gone.value - last.value)
        * other.value / (gone.value - other.value)
    )  # fmt: skip
    return last.at + (first + second) * (other.at - last.at)

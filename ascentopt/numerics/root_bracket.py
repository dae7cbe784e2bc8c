"""Where a value that is dear to ask for passes zero."""

from __future__ import annotations

from collections.abc import Callable
from math import nan
from typing import NamedTuple

_MOST = 60
_LEADS_ON = 0.5
"""Of the least value so far: where a step by slopes leaves more, the next one goes without."""


class Point(NamedTuple):
    """A value somewhere, and its slope where that is known."""

    at: float
    value: float
    slope: float = nan


def passes_zero(
    value: Callable[[float], float],
    before: Point,
    after: Point,
    close: float,
    slope: Callable[[float], float] | None = None,
) -> float:
    """Where a value that is negative `before` and not negative `after` passes zero.

    The place is one at which the value was asked for last, and within `close` of the zero, as far
    as its slope tells, or else the secant there. T. R. Chandrupatla, A new hybrid
    quadratic/bisection algorithm, Advances in Engineering Software 28 (1997), 145-149; begun with
    the secant instead. Where slopes are known, by the cubic that has them at both ends of the
    bracket, the place a function of the value, as long as it leads on.

    Args:
        value: asked for at one place after another.
        before, after: between them it passes zero.
        close: in the unit of the place.
        slope: of the value, at the place at which that was asked for last.
    """
    last, other = after, before
    at = _between(last, other)
    for _ in range(_MOST):
        found = Point(at, value(at), slope(at) if slope is not None else nan)
        if found.value == 0.0 or _away(found, last) < close:
            break
        leads_on = abs(found.value) < _LEADS_ON * min(abs(last.value), abs(other.value))
        if (found.value < 0.0) == (last.value < 0.0):
            gone, last = last, found
        else:
            gone, other, last = other, last, found
        at = _between(last, other) if leads_on and _sloped(last) else _next(last, other, gone)
        if abs(other.at - last.at) < close:
            value(last.at)
            return last.at
    return found.at


def _sloped(point: Point) -> bool:
    return point.slope > 0.0


def _away(found: Point, last: Point) -> float:
    """How far the zero is, as far as it is known."""
    if _sloped(found):
        return abs(found.value) / found.slope
    return abs(_secant(found, last) - found.at)


def _between(a: Point, b: Point) -> float:
    """The cubic's zero, or the secant's where slopes are not known or it leads out of the ends."""
    straight = _secant(a, b)
    if not (_sloped(a) and _sloped(b)):
        return straight
    rise = b.value - a.value
    share, way = -a.value / rise, b.at - a.at
    left = 1.0 - share
    begin, end = rise / a.slope - way, rise / b.slope - way
    at = straight + share * left * (left * begin - share * end)
    return at if min(a.at, b.at) < at < max(a.at, b.at) else straight


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

"""Where within a step something happens: the length at which a value passes zero."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ascentopt.typing import Floats

_CLOSE = 1e-9
"""s: at ten km/s a hundredth of a millimetre."""

_HALVED = 3
"""One try in so many halves the bracket: where a value is flat at zero the others hardly move."""

_MOST = 120


def first_length(
    value: Callable[[Floats], Floats], before: Floats, after: Floats, length: Floats
) -> Floats:
    """(n,) s into steps of some `length` at which values rise through zero.

    Args:
        value: of the flights after other lengths (n,).
        before, after: (n,) values where the steps begin, below zero, and where they end, not below.
        length: (n,) s.

    Regula falsi in the Illinois variant (M. Dowell and P. Jarratt, BIT 11, 1971, 168-174; from
    memory). What it returns is on the far side of zero, or within a nanosecond of it.
    """
    low, high = np.zeros_like(length), length.copy()
    at_low, at_high = np.minimum(before, -1e-300), after.copy()
    side = np.zeros_like(length)
    for k in range(_MOST):
        if np.all((high - low < _CLOSE) | (at_high == 0.0)):
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            tried = high - at_high * (high - low) / (at_high - at_low)
        inside = (tried > low) & (tried < high) & (k % _HALVED > 0)
        tried = np.where(inside, tried, 0.5 * (low + high))
        found = value(tried)
        above = found >= 0.0
        at_low = np.where(above, np.where(side > 0.0, 0.5 * at_low, at_low), found)
        at_high = np.where(above, found, np.where(side < 0.0, 0.5 * at_high, at_high))
        side = np.where(above, 1.0, -1.0)
        low, high = np.where(above, low, tried), np.where(above, tried, high)
    return high
